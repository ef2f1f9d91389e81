"""What keeps a model from being emitted as C, in plain words. It writes nothing."""

from collections.abc import Iterator
from dataclasses import fields, is_dataclass

from behaviour.controllers import Controller, controller
from behaviour.counted import MOST_MICROS, counted_times
from behaviour.model import Input, Model, Output, Unknown
from codegen.lower_board import refusals_of_board
from codegen.lower_steps import refusals_of_steps
from codegen.names import can_begin_names, is_identifier, is_pin

MOST_COUNT = 1_000_000_000
MILLISECOND = 1000


class CannotEmitError(Exception):
    """The model cannot become C. Each of `reasons` is a sentence that stands alone."""

    def __init__(self, reasons: tuple[str, ...]) -> None:
        super().__init__("; ".join(reasons))
        self.reasons = reasons


def refuse_if_needed(model: Model, prefix: str, target: str = "host") -> None:
    """Raise CannotEmitError with every reason at once, if there is one."""
    reasons = (*_reasons(model, prefix), *_reasons_of_board(model, prefix, controller(target)))
    if reasons:
        raise CannotEmitError(reasons)


def _reasons(model: Model, prefix: str) -> Iterator[str]:
    for unknown in _unknowns(model):
        line = f" (line {unknown.span.line})" if unknown.span.line else ""
        yield f"`{unknown.what}` is still `unknown`{line}: nothing is emitted until it is known"
    if not can_begin_names(prefix):
        yield f"`{prefix}` cannot begin names in C: `firmware_name` gives another"
    if model.loop <= 0 or model.loop % MILLISECOND:
        yield "`loop` is not a whole number of milliseconds"
    for name in _all_names(model):
        if not is_identifier(name):
            yield f"`{name}` cannot be a name in C"
    for name, pin in _pins(model):
        if not is_pin(pin):
            yield f"`{pin}`, the pin of `{name}`, cannot stand in C: a pin is a number or a name"
    for counter in model.counters:
        if max(abs(counter.low), abs(counter.high)) > MOST_COUNT:
            yield f"counter `{counter.name}` is larger than the firmware counts: 1000000000"
    yield from refusals_of_steps(model)
    for each in counted_times(model):
        if isinstance(each.time, int) and each.time > MOST_MICROS:
            yield f"{each.what} is longer than the firmware can count: 49.7 days"


def _reasons_of_board(model: Model, prefix: str, board: Controller) -> Iterator[str]:
    if board.has_pins and prefix.isupper():
        yield f"`{prefix}` may be a name of the chip's own: `firmware_name` gives another"
    yield from refusals_of_board(model, board)


def _unknowns(model: Model) -> tuple[Unknown, ...]:
    """List the open values of a file; of a model built otherwise, those found inside it."""
    found: dict[str, Unknown] = {unknown.what: unknown for unknown in model.unknowns}
    for unknown in _inside(model):
        found.setdefault(unknown.what, unknown)
    return tuple(found.values())


def _inside(value: object) -> Iterator[Unknown]:
    if isinstance(value, Unknown):
        yield value
    elif isinstance(value, tuple):
        for part in value:
            yield from _inside(part)
    elif is_dataclass(value) and not isinstance(value, type):
        for field in fields(value):
            yield from _inside(getattr(value, field.name))


def _all_names(model: Model) -> Iterator[str]:
    wired: tuple[Input | Output, ...] = (*model.inputs, *model.outputs)
    for item in wired:
        yield item.name
        yield from item.values
    yield from (counter.name for counter in model.counters)
    for region in model.regions:
        yield region.name
        yield from (state.name for state in region.states)


def _pins(model: Model) -> Iterator[tuple[str, str]]:
    wired: tuple[Input | Output, ...] = (*model.inputs, *model.outputs)
    for item in wired:
        pins = (item.wiring.pin, *(pin for _, pin in item.wiring.pins))
        yield from ((item.name, pin) for pin in pins if isinstance(pin, str))
        yield from ((item.name, what) for what, _ in item.wiring.pins)
