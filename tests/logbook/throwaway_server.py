"""A PostgreSQL server of our own for the tests: Debian's package, a temporary folder, no network.

The server refuses to run as root, so there it runs as an unprivileged user. Nothing is left behind.
"""

from __future__ import annotations

import os
import pwd
import shutil
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from advisor.logbook.copying import TABLES
from advisor.logbook.new_book import REVISIONS

COUNT_TABLES = "SELECT COUNT(*) FROM pg_tables WHERE schemaname = 'public'"
REVISION = "SELECT version_num FROM logbook_revision"
FASTER = ("fsync=off", "full_page_writes=off", "shared_buffers=16MB", "max_connections=40", "autovacuum=off")
ABSENT = "no PostgreSQL server here (Debian: apt-get install postgresql)"


def programs() -> Path | None:
    """The folder of the newest installed server's programs, None when there is none."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: int(path.parts[-3]))
    there = found[-1] if found else shutil.which("initdb")
    return Path(there).resolve().parent if there else None


def unprivileged() -> dict[str, object]:
    """How to start a process that is not root: nothing to do for anybody else."""
    if os.geteuid() != 0:
        return {}
    names = {entry.pw_name: entry for entry in pwd.getpwall()}
    user = names.get("postgres") or names["nobody"]
    return {"user": user.pw_uid, "group": user.pw_gid, "extra_groups": []}


@contextmanager
def server() -> Iterator[str]:
    """Start a server, give the folder of its socket, and end it."""
    bin_folder, as_user = programs(), unprivileged()
    assert bin_folder is not None, ABSENT
    # Short, because the path of a socket may have 107 signs at most.
    folder = Path(tempfile.mkdtemp(prefix="sumpside-pg-", dir="/tmp"))
    if as_user:
        os.chown(folder, as_user["user"], as_user["group"])  # type: ignore[arg-type]
    data = folder / "data"
    try:
        make = [bin_folder / "initdb", "-D", data, "-U", "tester", "-A", "trust", "-E", "UTF8", "--no-sync",
                "--locale=C.UTF-8"]  # fmt: skip
        subprocess.run(make, check=True, capture_output=True, cwd=folder, **as_user)  # type: ignore[call-overload]
        command = [bin_folder / "postgres", "-D", data, "-k", folder, "-c", "listen_addresses="]
        command += [word for setting in FASTER for word in ("-c", setting)]
        with (folder / "log").open("wb") as log:
            running = subprocess.Popen(command, stdout=log, stderr=log, cwd=folder, **as_user)  # type: ignore[call-overload]
        try:
            _wait(bin_folder, folder, running)
            yield str(folder)
        finally:
            running.terminate()
            try:
                running.wait(10)
            except subprocess.TimeoutExpired:
                running.kill()
                running.wait()
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _wait(bin_folder: Path, folder: Path, running: subprocess.Popen[bytes]) -> None:
    ready = [bin_folder / "pg_isready", "-q", "-h", folder]
    for _ in range(300):
        if subprocess.run(ready, check=False).returncode == 0:
            return
        if running.poll() is not None:
            break
        time.sleep(0.1)
    raise RuntimeError(f"PostgreSQL did not start: {(folder / 'log').read_text(errors='replace')}")


class Books:
    """Logbooks on a throwaway server: one for each path a test opens, empty at first, used again later."""

    def __init__(self, folder: str) -> None:
        import psycopg

        self.folder, self._made = folder, 0
        self._clean: list[str] = []
        self._lent: dict[Path, str] = {}
        self.admin = psycopg.connect(f"host={folder} user=tester dbname=postgres", autocommit=True)

    def address(self, path: Path) -> str:
        """The address of the logbook that stands for this path until the test ends."""
        if path not in self._lent:
            self._lent[path] = self._clean.pop() if self._clean else self.fresh()
        return self._lent[path]

    def fresh(self) -> str:
        """The address of a database with nothing in it."""
        self._made += 1
        name = f"book_{self._made}"
        self.admin.execute(f"CREATE DATABASE {name}")
        return f"postgresql://tester@/{name}?host={self.folder}"

    def take_back(self) -> None:
        """Empty what was lent, for the next test; what was changed in shape is not lent again."""
        import psycopg

        cut = "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname LIKE 'book_%'"
        self.admin.execute(cut)
        for address in self._lent.values():
            with psycopg.connect(address, autocommit=True) as db:
                (tables,) = db.execute(COUNT_TABLES).fetchone() or (0,)
                if tables == len(TABLES) + 1 and db.execute(REVISION).fetchone() == (REVISIONS[-1],):
                    db.execute(f"TRUNCATE {', '.join(TABLES)} RESTART IDENTITY")
                    self._clean.append(address)
        self._lent.clear()

    def close(self) -> None:
        """Let go of the server."""
        self.admin.close()
