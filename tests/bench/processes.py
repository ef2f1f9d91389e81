"""Commands as whole processes: how long they take and how much memory they have.

A process that is started counts the memory of the one that starts it as its own, until it has
more itself; so each is started, and timed, by a small one that is there for nothing else.
"""

import json
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median

from tests.bench.rows import Row

ROOT = Path(__file__).parent.parent.parent

MAIN = "import sys; from behaviour.cli import main; sys.exit(main(sys.argv[1:]))"

STARTER = """
import json, os, subprocess, sys, time
began = time.perf_counter()
process = subprocess.Popen(
    sys.argv[1:], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
)
_, status, usage = os.wait4(process.pid, 0)
seconds = time.perf_counter() - began
process.returncode = os.waitstatus_to_exitcode(status)
print(json.dumps([seconds, usage.ru_maxrss, process.returncode]))
"""
"""The small process: it starts the one that its arguments name, and tells what that one took."""

MOST_MEMORY_UNIT = 1 if sys.platform == "darwin" else 1024
"""The bytes in one of `ru_maxrss` (getrusage(2): KiB on Linux, bytes on macOS)."""


@dataclass(frozen=True)
class Process:
    """A process that has ended: its wall-clock seconds, the most memory it had, and its status."""

    seconds: float
    most_bytes: int
    status: int


def run_process(arguments: Sequence[str]) -> Process:
    """Run `tablework` with arguments as a process of its own, and throw away what it prints."""
    told = subprocess.run(
        [sys.executable, "-S", "-c", STARTER, sys.executable, "-c", MAIN, *arguments],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        check=True,
    )
    seconds, most, status = json.loads(told.stdout)
    return Process(seconds, most * MOST_MEMORY_UNIT, status)


def processes(what: str, arguments: Sequence[str], times: int) -> list[Row]:
    """Measure a command as a whole process; a run before the first fills the byte code cache."""
    run_process(arguments)
    runs = [run_process(arguments) for _ in range(times)]
    remark = f"median of {times}, exit {runs[0].status}"
    return [
        Row(what, median(run.seconds for run in runs), "s", remark),
        Row(f"{what}: most memory", max(run.most_bytes for run in runs) / 2**20, "MiB"),
    ]
