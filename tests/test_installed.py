"""What is installed for users does without the packages that only the tests need."""

import re
import subprocess
import sys
import tomllib
from pathlib import Path

PROJECT = tomllib.loads((Path(__file__).parents[1] / "pyproject.toml").read_text("utf-8"))

RUN_ELSEWHERE = ("codegen.conform.pi_player", "codegen.python.parts")
"""These run beside a Raspberry Pi's packages, in a process of their own or on the Pi."""

IMPORTS = """
import importlib, pkgutil, sys
blocked, elsewhere = sys.argv[1].split(), tuple(sys.argv[2].split())
for name in blocked:
    sys.modules[name] = None
import behaviour, codegen
count = 0
for package in (behaviour, codegen):
    for each in pkgutil.walk_packages(package.__path__, package.__name__ + "."):
        if not each.name.startswith(elsewhere):
            importlib.import_module(each.name)
            count += 1
print(count)
"""


def bare(requirement: str) -> str:
    return re.split(r"[>=<\[; ]", requirement, maxsplit=1)[0].replace("-", "_")


def test_every_module_is_loaded_without_what_only_the_tests_need():
    needed = {bare(each) for each in PROJECT["project"]["dependencies"]}
    only_tests = {bare(each) for each in PROJECT["project"]["optional-dependencies"]["test"]}
    blocked = sorted(only_tests - needed)

    done = subprocess.run(
        [sys.executable, "-c", IMPORTS, " ".join(blocked), " ".join(RUN_ELSEWHERE)],
        capture_output=True,
        text=True,
        check=False,
    )

    assert "gpiozero" in blocked
    assert done.stderr == ""
    assert int(done.stdout) > 300
