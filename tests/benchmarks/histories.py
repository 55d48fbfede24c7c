"""How fast a history is imported, beside what its database takes for the same rows.

python -m tests.benchmarks.histories [--rows 1000000] [--database sqlite postgresql]
"""

import argparse
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

import psycopg
from psycopg import sql

from deploy.servers import start_postgresql
from fixtures.demo import OrganisationFiles, write_large

REPO = Path(__file__).resolve().parents[2]
#: Where the rows of a jobs file end, in an order in which each finds what it names.
TABLES = ("records_job", "records_odometerreading", "records_operation", "records_fitment")
PIECE_BYTES = 1 << 20


@dataclass(frozen=True)
class Step:
    """One thing done to a database.

    `processor_seconds` and `megabytes`, the peak, are of its process alone, if it has its own: not
    those of a server.
    """

    name: str
    seconds: float
    processor_seconds: float | None = None
    megabytes: float | None = None

    def __str__(self) -> str:
        own = ""
        if self.processor_seconds is not None and self.megabytes is not None:
            own = f", of its processor {self.processor_seconds:.1f} s, {self.megabytes:.0f} MB"
        return f"{self.name:56} {self.seconds:7.1f} s{own}"


def import_steps(files: OrganisationFiles, environment: dict[str, str]) -> Iterator[Step]:
    """Import the files into a new register, one command each, then the jobs once more."""
    manage("migrate", "--verbosity", "0", environment=environment)
    manage("add_organisation", files.code, "--kind", files.kind, environment=environment)
    given = {"vehicles": files.vehicles, "odometer": files.odometer, "jobs": files.jobs}
    for name in (*given, "jobs"):
        command = ("import_history", "--organisation", files.code, f"--{name}", str(given[name]))
        step = manage(*command, environment=environment)
        with given[name].open("rb") as file:
            lines = sum(1 for _ in file) - 1
        yield replace(step, name=f"{name}: {lines} lines, {lines / step.seconds:.0f} a second")


def manage(*command: str, environment: dict[str, str]) -> Step:
    """Run one command of the register; its seconds include the start of Python."""
    started = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, "manage.py", *command],
        cwd=REPO,
        env=os.environ | environment,
        stdout=subprocess.DEVNULL,
    )
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode != 0:
        raise RuntimeError(f"manage.py {command[0]} must end with 0; got {process.returncode}")
    seconds = time.perf_counter() - started
    return Step(command[0], seconds, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024)


def copy_bare(connection: psycopg.Connection, jobs: Path) -> Step:
    """COPY the file as it stands into a table of texts without key, index or check."""
    with jobs.open("rb") as file, connection.cursor() as cursor:
        names = file.readline().decode("utf-8-sig").strip().split(",")
        columns = sql.SQL(", ").join(sql.SQL("{} text").format(sql.Identifier(n)) for n in names)
        cursor.execute(sql.SQL("CREATE TABLE bare ({})").format(columns))
        connection.commit()
        started = time.perf_counter()
        with cursor.copy("COPY bare FROM STDIN (FORMAT csv)") as copy:
            while piece := file.read(PIECE_BYTES):
                copy.write(piece)
        connection.commit()
        seconds = time.perf_counter() - started
        cursor.execute("DROP TABLE bare")
        connection.commit()
    return Step("bare COPY of the jobs file into texts", seconds)


def copy_recorded(connection: psycopg.Connection, folder: Path) -> Iterator[Step]:
    """COPY what was recorded of the jobs into the register's own tables, emptied before.

    Every key, index, check and foreign key is on: no import that keeps them takes less.
    """
    of_jobs = {"records_odometerreading": "WHERE job_id IS NOT NULL"}
    with connection.cursor() as cursor:
        for table in TABLES:
            statement = f"COPY (SELECT * FROM {table} {of_jobs.get(table, '')}) TO STDOUT"
            with cursor.copy(statement) as copy, (folder / table).open("wb") as file:
                file.writelines(copy)
        cursor.execute("CREATE TEMPORARY TABLE apart AS SELECT * FROM records_odometerreading")
        cursor.execute("TRUNCATE records_job, records_odometerreading CASCADE")
        cursor.execute(
            "INSERT INTO records_odometerreading SELECT * FROM apart WHERE job_id IS NULL"
        )
        connection.commit()
        rows = 0
        started = time.perf_counter()
        for table in TABLES:
            with (
                (folder / table).open("rb") as file,
                cursor.copy(f"COPY {table} FROM STDIN") as copy,
            ):
                while piece := file.read(PIECE_BYTES):
                    copy.write(piece)
            rows += cursor.rowcount
        copied = time.perf_counter()
        connection.commit()
        ended = time.perf_counter()
    yield Step(f"COPY of the {rows} recorded rows into their own tables", copied - started)
    yield Step("... and their foreign keys, checked at its commit", ended - copied)


@contextmanager
def _environment(database: str, folder: Path) -> Iterator[dict[str, str]]:
    """The settings of a register of its own, on a server of its own for PostgreSQL."""
    data = folder / database
    data.mkdir()
    own = {"REGISTER_DATA_DIR": str(data)}
    if database == "sqlite":
        yield own
        return
    server = start_postgresql(folder / "server")
    try:
        with psycopg.connect(server.url.replace("/register", "/postgres"), autocommit=True) as made:
            made.execute("CREATE DATABASE register")
        yield own | {"REGISTER_DATABASE_URL": server.url}
    finally:
        server.stop()


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.histories")
    parser.add_argument("--rows", type=int, default=1_000_000, help="of the jobs file, about")
    parser.add_argument("--database", nargs="+", default=["sqlite", "postgresql"])
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o755)  # the server's account is another
        files = write_large(folder / "files", job_rows=chosen.rows)
        for database in chosen.database:
            with _environment(database, folder) as environment:
                print(database, flush=True)
                for step in import_steps(files, environment):
                    print(step, flush=True)
                if url := environment.get("REGISTER_DATABASE_URL"):
                    with psycopg.connect(url) as connection:
                        print(copy_bare(connection, files.jobs), flush=True)
                        for step in copy_recorded(connection, folder):
                            print(step, flush=True)


if __name__ == "__main__":
    main()
