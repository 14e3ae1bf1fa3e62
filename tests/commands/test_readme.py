"""The tour in README.md does what it says: a shell runs its calls against a real server."""

import re
import subprocess
from html import unescape
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import call_command

ROOT = Path(settings.BASE_DIR)


def tour(site: str, password: str) -> str:
    """All shell blocks of the tour in one script, with this server and this password in place of those printed."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    section = re.search(r"^## A tour with curl\n(.*?)^## ", text, re.MULTILINE | re.DOTALL)
    assert section
    blocks = re.findall(r"^```sh\n(.*?)^```", section[1], re.MULTILINE | re.DOTALL)
    script = "\n".join(["set -euo pipefail", *blocks])
    return script.replace("http://127.0.0.1:8000", site).replace(":PASSWORD", f":{password}")


@pytest.mark.django_db(transaction=True)
def test_the_tour_works_as_printed(live_server, tmp_path, capsys):
    call_command("demo")
    password = re.search(r"demo-wren with the password (\S+)", capsys.readouterr().out)
    assert password
    (tmp_path / "fixtures").symlink_to(ROOT / "fixtures")
    run = subprocess.run(
        ["bash", "-c", tour(live_server.url, password[1])],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert run.returncode == 0, run.stderr
    accepted, refused = run.stdout.index("201 Created"), run.stdout.index("422 Unprocessable Entity")
    assert accepted < refused
    assert '"readings-contradict"' in run.stdout[refused:]
    assert "r103 shows at least 39 MΩ between CONSOLE:2 and STAGE:2" in run.stdout[refused:]
    assert "UP only works bent" in run.stdout[refused:]
    assert (tmp_path / "rail.svg").read_bytes().startswith(b"<?xml")
    assert (tmp_path / "rail.png").read_bytes().startswith(b"\x89PNG")
    assert (tmp_path / "rail.pdf").read_bytes().startswith(b"%PDF")
    assert "Orrery trunk OT-66" in (tmp_path / "rail.dot").read_text(encoding="utf-8")
    face = unescape((tmp_path / "face.svg").read_text(encoding="utf-8"))
    assert "Orrery trunk OT-66" in face.replace("\N{NO-BREAK SPACE}", " ")
    assert "CONSOLE:1" in (tmp_path / "wires.csv").read_text(encoding="utf-8")
