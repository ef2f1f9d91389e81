"""What the carousel's firmware takes of the chips, and how long one of its loops is."""

import subprocess
from pathlib import Path
from tempfile import TemporaryDirectory

from codegen.conform.arduino import TARGETS, sizes_for
from codegen.conform.uno import match_on_uno
from codegen.conform.walk import walk
from codegen.emit import emit, firmware_name
from codegen.keep import write_files
from tests.bench.rows import Row
from tests.reading import spec

ARM = ("-mcpu=cortex-m0plus", "-mthumb", "-Os", "-std=c99")


def taken(path: str, simulated_ms: int = 5000) -> list[Row]:
    """Measure a prop whose pins fit the AVR boards."""
    model, rows = spec(path), list[Row]()
    for controller in TARGETS:
        with TemporaryDirectory() as name:
            write_files(Path(name), emit(model, path, controller))
            folder = Path(name) / firmware_name(model, path)
            sizes = sizes_for(controller, folder)
            rows.append(_row(f"{controller}, all of it", sizes.whole.flash, sizes.whole.ram))
    rows.append(_row("AVR, behaviour alone", sizes.behaviour.flash, sizes.behaviour.ram))
    rows.append(_on_arm(path))
    report = match_on_uno(model, path, walk(model, 1, 400, 400).timelines, simulated_ms)
    longest = report.longest_microseconds
    return [*rows, Row("longest loop on a simulated Uno", longest, "us")]


def _row(what: str, flash: int, ram: int) -> Row:
    return Row(what, flash, "bytes", f"and {ram} of memory")


def _on_arm(path: str) -> Row:
    """Measure the behaviour for a Cortex-M0+, as in a Pico."""
    model = spec(path)
    with TemporaryDirectory() as name:
        write_files(Path(name), emit(model, path, "host"))
        folder = Path(name) / firmware_name(model, path)
        instance = f'#include "{folder.name}.h"\nstruct {folder.name} instance = {{ 0 }};\n'
        (folder / "instance.c").write_text(instance, encoding="utf-8")
        files = [
            "instance.c",
            f"{folder.name}.c",
            *(each.name for each in folder.glob("*_steps.c")),
        ]
        subprocess.run(["arm-none-eabi-gcc", *ARM, "-c", *files], cwd=folder, check=True)
        made = [str(Path(file).with_suffix(".o")) for file in files]
        told = subprocess.run(
            ["arm-none-eabi-size", *made], cwd=folder, check=True, capture_output=True, text=True
        )
    sizes = [[int(each) for each in line.split()[:3]] for line in told.stdout.splitlines()[1:]]
    flash = sum(text + data for text, data, _ in sizes)
    return _row("Cortex-M0+, behaviour alone", flash, sum(data + bss for _, data, bss in sizes))
