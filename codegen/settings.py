"""Writes NAME_settings.h: every pin, pull, polarity, direction and time, one line each."""

from codegen.banner import banner, fingerprint_check, sealed
from codegen.cwriter import CWriter
from codegen.module import Define, Module


def settings(module: Module) -> str:
    """Give the text of the settings."""
    out = CWriter()
    upper = module.upper
    banner(
        out,
        module,
        "its settings",
        "Every pin, pull, polarity, direction and time stands here and nowhere else, one line "
        "each. Times are milliseconds. Try other values on the bench; what proves right belongs "
        "in the behaviour file.",
    )
    with out.header(f"{upper}_SETTINGS_H"):
        fingerprint_check(out, module)
        out.line()
        _defines(out, (Define(f"{upper}_LOOP_MS", f"{module.loop_ms}u", "how often it looks"),))
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
            out.comment(define.comment)
        out.line(f"#define {define.name} {define.value}")
