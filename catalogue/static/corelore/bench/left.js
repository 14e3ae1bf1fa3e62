// On the start page of the site: what somebody left at the bench.

import { listSessions } from "./go_on.js";

listSessions();
