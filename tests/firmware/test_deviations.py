"""Emitted C under cppcheck with its MISRA addon, and under every warning that clang has."""

import re
import shutil
from pathlib import Path

import pytest

from codegen.deviations import CLANG, MISRA, Deviation
from codegen.emit import emit
from codegen.keep import write_files
from tests.firmware.compilers import run
from tests.firmware.props import demo_names, spec

CPPCHECK = (
    "cppcheck", "-q", "--std=c99", "--addon=misra", "--suppress=toomanyconfigs",
    "--enable=warning,style,performance,portability", "--template={file}|{id}|{message}",
)  # fmt: skip
STYLE = {"variableScope": "_trace.c"}
"""cppcheck's own remark that is passed over: what is declared at the head of a short function."""


@pytest.fixture(scope="module")
def folders(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    found = []
    for name in demo_names():
        directory = tmp_path_factory.mktemp(name)
        write_files(directory, emit(spec(name), f"{name}.yaml", "host"))
        found += directory.iterdir()
    return found


def test_cppcheck_finds_the_deviations_that_are_named_and_nothing_else(folders: list[Path]) -> None:
    assert shutil.which("cppcheck"), "install cppcheck"
    found = set()
    for folder in folders:
        sources = sorted(path.name for path in folder.glob("*.c"))
        done = run([*CPPCHECK, *sources], folder)
        assert done.returncode == 0, done.stdout
        for line in done.stderr.splitlines():
            file, name, message = line.split("|", 2)
            role = file.removeprefix(folder.name)
            if STYLE.get(name) != role:
                assert name.startswith("misra-c2012-"), f"{file}: {name}: {message}"
                found.add((name.removeprefix("misra-c2012-"), role))
    assert found == rows(MISRA)


def test_clang_warns_of_what_is_named_and_of_nothing_else(folders: list[Path]) -> None:
    found = set()
    for folder in folders:
        sources = sorted(path.name for path in folder.glob("*.c"))
        done = run(["clang", "-std=c99", "-Weverything", "-fsyntax-only", *sources], folder)
        for line in done.stderr.splitlines():
            warned = re.match(r"(?:\./)?(\S+?):\d+:\d+: warning: .* \[(-W\S+)\]$", line)
            if warned:
                found.add((warned[2], warned[1].removeprefix(folder.name)))
        assert done.returncode == 0
        assert "error:" not in done.stderr
    assert found == rows(CLANG)


def test_every_deviation_has_its_reason_and_no_rule_stands_twice() -> None:
    both = (*MISRA, *CLANG)
    assert len({each.rule for each in both}) == len(both)
    assert all(each.files and len(each.reason.split()) > 8 for each in both)


def rows(deviations: tuple[Deviation, ...]) -> set[tuple[str, str]]:
    return {(each.rule, file) for each in deviations for file in each.files}
