"""Writes main.c: the loop for a computer, the user's from then on."""

from codegen.banner import banner_of_yours
from codegen.cwriter import CWriter
from codegen.module import Module


def host_main(module: Module) -> str:
    """Give the text of the loop."""
    out = CWriter()
    prefix = module.prefix
    banner_of_yours(out, module, "the loop")
    out.line(f'#include "{prefix}_board.h"')
    out.line()
    with out.function("int main(void)"):
        out.line(f"static struct {prefix} prop;")
        out.line()
        out.statement(f"{prefix}_power_up(&prop, {prefix}_board_now_ms());")
        out.statement(f"{prefix}_trace(&prop, {prefix}_board_now_ms());")
        with out.block(f"while ({prefix}_board_goes_on())"):
            out.statement(f"const uint32_t now_ms = {prefix}_board_now_ms();")
            out.line()
            out.statement(f"{prefix}_step(&prop, now_ms);")
            out.statement(f"{prefix}_trace(&prop, now_ms);")
        out.line("return 0;")
    return out.text()
