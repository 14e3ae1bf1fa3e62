"""The servers of a site on several machines, all on this one: each with ports and a folder of its own."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import psycopg

ROOT = Path(__file__).resolve().parent.parent.parent
SECONDS = 120
"""How long a server may take to answer or to go."""

AS_POSTGRES = ("runuser", "-u", "postgres", "--") if os.geteuid() == 0 else ()
"""PostgreSQL refuses to run as root."""


def program(name: str) -> str:
    """Where a program is. Raises AssertionError when it is not installed."""
    folders = [os.environ["PATH"], "/usr/sbin", *map(str, sorted(Path("/usr/lib/postgresql").glob("*/bin"))[::-1])]
    found = shutil.which(name, path=os.pathsep.join(folders))
    assert found, f"{name} is not installed: run .ci/packages machines"
    return found


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def quick_folder() -> str | None:
    """A folder in memory, where there is room for two clusters, or None for the usual one."""
    in_memory = Path("/dev/shm")
    return str(in_memory) if in_memory.is_dir() and shutil.disk_usage(in_memory).free > 2**30 else None


def wait_until(is_so: Callable[[], object], what: str) -> None:
    """Wait for something. Raises AssertionError when it does not come."""
    end = time.monotonic() + SECONDS
    while not is_so():
        assert time.monotonic() < end, f"waited {SECONDS} s in vain: {what}"
        time.sleep(0.05)


def listens(port: int) -> bool:
    with socket.socket() as probe:
        return probe.connect_ex(("127.0.0.1", port)) == 0


class Server:
    """A process that goes with all that it started."""

    def __init__(self, command: list[str], log: Path, **environment: str) -> None:
        self.command, self.log, self.environment = command, log, environment
        self.start()

    def start(self) -> None:
        with self.log.open("ab") as log:
            self.process = subprocess.Popen(
                self.command,
                cwd=ROOT,
                env={**os.environ, **self.environment},
                stdout=log,
                stderr=subprocess.STDOUT,
                start_new_session=True,
            )

    def pause(self) -> None:
        os.killpg(self.process.pid, signal.SIGSTOP)

    def go_on(self) -> None:
        os.killpg(self.process.pid, signal.SIGCONT)

    def kill(self) -> None:
        """As when the machine loses its power. What is gone already may be killed again."""
        if self.process.poll() is None:
            os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait(SECONDS)


class Listener(Server):
    """One that others connect to."""

    def __init__(self, port: int, command: list[str], log: Path, **environment: str) -> None:
        self.port = port
        super().__init__(command, log, **environment)

    def start(self) -> None:
        super().start()
        wait_until(lambda: listens(self.port) or self.process.poll() is not None, f"{self.command[0]} listens")
        assert self.process.poll() is None, self.log.read_text()


class Cluster:
    """PostgreSQL: a primary, or a streaming replica of one. Every statement is in its log."""

    def __init__(self, folder: Path, primary: Cluster | None = None) -> None:
        self.data, self.log, self.port = folder / "data", folder / "log", free_port()
        folder.mkdir()
        if AS_POSTGRES:
            shutil.chown(folder, "postgres")
        if primary is None:
            self._run("initdb", "--username=postgres", "--auth=trust", "--encoding=UTF8", "--no-locale", "--no-sync")
        else:
            source = f"--dbname={primary.url('postgres')}"
            self._run("pg_basebackup", "--write-recovery-conf", "--checkpoint=fast", "--no-sync", source)
        self.start()

    def url(self, database: str = "corelore") -> str:
        return f"postgres://postgres@127.0.0.1:{self.port}/{database}"

    def start(self) -> None:
        options = {
            "listen_addresses": "127.0.0.1",
            "unix_socket_directories": "",
            "fsync": "off",
            "log_statement": "all",
            "shared_buffers": "64MB",
        }
        told = " ".join([f"-p {self.port}", *(f"-c {name}='{value}'" for name, value in options.items())])
        self._run("pg_ctl", "--wait", f"--log={self.log}", f"--options={told}", "start")

    def stop(self) -> None:
        """At once, as when it crashes. What is stopped already may be stopped again."""
        if listens(self.port):
            self._run("pg_ctl", "--wait", "--mode=immediate", "stop")

    def statements(self) -> int:
        """How many statements of the site it was asked so far."""
        return self.log.read_bytes().count(b"catalogue_")

    def ask(self, statement: str, *values: object, database: str = "corelore") -> list[tuple]:
        with psycopg.connect(self.url(database), autocommit=True) as connection:
            cursor = connection.execute(statement, values)
            return cursor.fetchall() if cursor.description else []

    def _run(self, name: str, *arguments: str) -> None:
        command = [*AS_POSTGRES, program(name), f"--pgdata={self.data}", *arguments]
        # What a server of its own writes goes into its log, or this would wait for its end.
        done = subprocess.run(command, cwd="/", stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)
        assert done.returncode == 0, f"{name}: {done.stderr}"


class Site:
    """What is set alike for all processes of the site."""

    def __init__(self, folder: Path, **environment: str) -> None:
        self.folder, self.environment = folder, {**environment, "DJANGO_SETTINGS_MODULE": "catalogue.settings"}

    def manage(self, *arguments: str) -> str:
        done = subprocess.run(
            [sys.executable, "manage.py", *arguments],
            cwd=ROOT,
            env={**os.environ, **self.environment},
            capture_output=True,
            text=True,
        )
        assert done.returncode == 0, done.stderr
        return done.stdout

    def web(self, port: int, workers: int = 1) -> Listener:
        command = [sys.executable, "-m", "gunicorn", f"--workers={workers}", "--threads=4", "--preload"]
        command += ["--no-control-socket", f"--bind=127.0.0.1:{port}", "catalogue.wsgi"]
        return Listener(port, command, self.folder / f"web-{port}.log", **self.environment)

    def worker(self, name: str) -> Server:
        command = [sys.executable, "manage.py", "db_worker", f"--worker-id={name}", "--interval=0.2"]
        return Server(command, self.folder / f"worker-{name}.log", **self.environment)


def redis(folder: Path, port: int) -> Listener:
    command = [program("redis-server"), f"--port {port}", "--bind 127.0.0.1", "--save", "", f"--dir {folder}"]
    return Listener(port, [word for part in command for word in (part.split() or [""])], folder / "redis.log")


def certificate(folder: Path) -> None:
    """A key and a certificate that it signed itself, for the name localhost."""
    command = f"{program('openssl')} req -x509 -newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -nodes -days 2"
    names = "-subj /CN=localhost -addext subjectAltName=DNS:localhost -keyout key.pem -out certificate.pem"
    subprocess.run([*command.split(), *names.split()], cwd=folder, check=True, capture_output=True)


TEMPORARY = ("client_body", "proxy", "fastcgi", "uwsgi", "scgi")
"""What nginx keeps in files for a moment."""


def nginx(folder: Path, port: int, webs: tuple[int, int]) -> Listener:
    """nginx with the configuration that fixtures/nginx.conf shows, but for ports and paths."""
    text = (ROOT / "fixtures" / "nginx.conf").read_text()
    fitted = {
        "/run/nginx.pid": str(folder / "nginx.pid"),
        "127.0.0.1:8001": f"127.0.0.1:{webs[0]}",
        "127.0.0.1:8002": f"127.0.0.1:{webs[1]}",
        "listen 443 ssl": f"listen 127.0.0.1:{port} ssl",
        "listen 80;": f"listen 127.0.0.1:{free_port()};",
        "/etc/ssl/corelore.pem": str(folder / "certificate.pem"),
        "/etc/ssl/private/corelore.key": str(folder / "key.pem"),
        "corelore.example": "localhost",
        # Debian's own folders are root's.
        "access_log off;": " ".join(["access_log off;", *(f"{name}_temp_path {folder}/{name};" for name in TEMPORARY)]),
    }
    for shown, own in fitted.items():
        assert shown in text, f"fixtures/nginx.conf has no {shown}"
        text = text.replace(shown, own)
    (folder / "nginx.conf").write_text(text)
    directives = f"daemon off; error_log {folder}/nginx-error.log;"
    command = [program("nginx"), "-p", str(folder), "-c", str(folder / "nginx.conf"), "-g", directives]
    return Listener(port, command, folder / "nginx.log")
