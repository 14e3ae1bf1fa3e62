"""What one rule says about one place of a map. The table of rules adds code and usual severity."""

from __future__ import annotations

from dataclasses import dataclass

from catalogue.core.findings import Severity, Step


@dataclass(frozen=True, slots=True)
class Remark:
    """`at` holds JSON pointers into the document, the first being where to look; `witness` is the proof.

    `severity` is None where the rule's usual one applies. `readings` are the ids of those that are concerned;
    those of the witness need not be repeated. `hint` is what the author of the map may do about it, where somebody
    else would do another thing.
    """

    message: str
    contacts: tuple[str, ...] = ()
    readings: tuple[str, ...] = ()
    witness: tuple[Step, ...] = ()
    at: tuple[str, ...] = ()
    severity: Severity | None = None
    hint: str = ""
