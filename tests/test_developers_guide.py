"""The contributor's guide names only what is there: files, folders and make's targets."""

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
# Made by a run, or addresses of the site.
NOT_IN_THE_CLONE = {".venv/", ".data/", "/rules/CODE/", "maps/{id}/drawings/", "/api/v1/openapi.json", "/api/v1/"}


def test_every_file_and_folder_it_names_exists():
    named = set(re.findall(r"`([\w./{}-]*(?:/|\.(?:py|html|csv|json|toml|txt)))`", GUIDE)) - NOT_IN_THE_CLONE
    there = [
        path.relative_to(ROOT)
        for folder in ("api", "catalogue", "fixtures", "templates", "tests", ".ci")
        for path in (ROOT / folder, *(ROOT / folder).rglob("*"))
    ]
    there += [path.relative_to(ROOT) for path in ROOT.glob("*.*")]

    assert len(named) > 20
    assert [name for name in sorted(named) if not any(path.match(name.rstrip("/")) for path in there)] == []


def test_every_target_of_make_it_names_exists():
    named = set(re.findall(r"make ([a-z-]+)", GUIDE.replace("GNU make", "")))
    targets = set(re.findall(r"^([a-z-]+):.*## ", (ROOT / "Makefile").read_text(encoding="utf-8"), re.MULTILINE))

    assert {"install", "demo", "test", "bench", "lock"} <= named
    assert named - targets == set()
