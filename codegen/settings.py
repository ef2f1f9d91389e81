"""Writes NAME_settings.h: every pin, pull, polarity, direction and time, one line each."""

import re

from codegen.banner import banner, fingerprint_check, sealed
from codegen.cwriter import CWriter
from codegen.module import Define, Module

LOOP = "loop"
FILE_HAS = "file:"
"""Stands in a comment before what the behaviour file has, whatever the bench has in the line."""


def settings(module: Module) -> str:
    """Give the text of the settings."""
    out = CWriter()
    upper = module.upper
    banner(
        out,
        module,
        "its settings",
        "Every pin, pull, polarity, direction and time stands here and nowhere else, one line "
        "each. Times are milliseconds. Try other values on the bench: the next emit shows what "
        "differs, and asks which to take. Leave the comments, which say what the file has.",
    )
    with out.header(f"{upper}_SETTINGS_H"):
        fingerprint_check(out, module)
        out.line()
        _defines(out, (_loop(module),))
        if module.times:
            out.line()
            _defines(out, module.times)
        if module.steps:
            out.line()
            _defines(out, module.steps)
        if module.wiring:
            out.line()
            _defines(out, _pulls(module) + module.wiring)
    return sealed(out.text())


def all_settings(module: Module) -> tuple[Define, ...]:
    """List every line that can be another on the bench."""
    return (_loop(module), *module.times, *module.steps, *module.wiring)


def line_of(define: Define) -> int:
    """Give the line of the file that a setting stands in; 0 if it stands in none."""
    found = re.match(r"(\d+): ", define.comment)
    return int(found[1]) if found else 0


def _loop(module: Module) -> Define:
    name = f"{module.upper}_LOOP_MS"
    return Define(name, f"{module.loop_ms}u", "how often it looks", what=LOOP)


def _pulls(module: Module) -> tuple[Define, ...]:
    names = ("PULL_NONE", "PULL_UP", "PULL_DOWN")
    used = {define.value for define in module.wiring}
    all_of_them = tuple(
        Define(f"{module.upper}_{name}", f"{number}u", "") for number, name in enumerate(names)
    )
    return all_of_them if used & {define.name for define in all_of_them} else ()


def _defines(out: CWriter, defines: tuple[Define, ...]) -> None:
    for define in defines:
        if define.comment:
            out.comment(f"{define.comment}; {FILE_HAS} {define.value}")
        out.line(f"#define {define.name} {define.value}")
