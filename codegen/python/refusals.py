"""What keeps a model from becoming a Python module, beyond what keeps it from becoming C."""

import sys
from collections.abc import Iterator

from behaviour.model import Model
from codegen.python.spelling import KEYWORDS
from codegen.refusals import CannotEmitError
from codegen.vocabulary import motors_moved

ELSEWHERE = frozenset({"gpiozero", "transitions", "lgpio", "pigpio", "colorzero", "six", "spidev"})
"""Modules that the emitted one needs, or that those need."""


def refuse_for_python(model: Model, prefix: str) -> None:
    """Raise CannotEmitError with every reason at once, if there is one."""
    reasons = tuple(_reasons(model, prefix))
    if reasons:
        raise CannotEmitError(reasons)


def _reasons(model: Model, prefix: str) -> Iterator[str]:
    if prefix in KEYWORDS or prefix in sys.stdlib_module_names or prefix in ELSEWHERE:
        yield (
            f"`{prefix}` has a meaning of its own in Python, where the module would be in its way: "
            "`firmware_name` gives another"
        )
    for name in sorted(motors_moved(model)):
        if "step" not in dict(model.output[name].wiring.pins):
            yield (
                f"`{name}` is moved by distance and has no pin `step`: on a Raspberry Pi nothing "
                "else counts how far it has moved"
            )
