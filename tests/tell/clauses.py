"""Reads clauses of plain English back into conditions, times and actions.

Written from the fixed forms as they are printed, and not from what prints them.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from behaviour.language.motions import is_moving
from behaviour.model import (
    Action,
    AddTo,
    And,
    Becomes,
    Compare,
    Comparison,
    Condition,
    Done,
    HeldFor,
    InState,
    Is,
    Not,
    Or,
    Output,
    SetTo,
    Time,
    Unknown,
)
from behaviour.source import NOWHERE
from behaviour.units import read_time

THING = r"[Tt]he (?:[a-z]+ )?`(\w+)`"
TIME = r"(?:an unknown time \(`[^`]*`\)|[0-9.]+ (?:ms|s|min))"
QUOTE = r"“((?:[^”]|””)*)”(?!”)"
_A_VALUE = r"(?!the `|the [a-z]+ `|it is not so)\w+"

_SIGNS: dict[str, Comparison] = {
    "": "=",
    "not ": "!=",
    "less than ": "<",
    "at most ": "<=",
    "more than ": ">",
    "at least ": ">=",
}


def unquoted(text: str) -> str:
    return text.replace("””", "”").replace("¶", "\n")


def time_in(text: str) -> Time:
    """Read a time, or one that is not known."""
    unknown = re.fullmatch(r"an unknown time \(`([^`]*)`\)", text)
    if unknown:
        return Unknown(unknown[1])
    time = read_time(text)
    assert isinstance(time, int), text
    return time


def window_in(text: str) -> tuple[Time, Time]:
    """Read one time, or two with `to` between them."""
    found = re.fullmatch(rf"({TIME})(?: to ({TIME}))?", text)
    assert found, text
    low = time_in(found[1])
    return low, time_in(found[2]) if found[2] else low


def action_in(text: str) -> Action:
    found = re.fullmatch(r"(adds|takes|sets)(?: (\d+))?.* the count `(\w+)`(?: to (-?\d+))?", text)
    if found is None:
        found = re.fullmatch(r"(sets) ?()the count `(\w+)` to (-?\d+)", text)
    assert found, text
    match found[1]:
        case "adds":
            return AddTo(found[3], int(found[2]))
        case "takes":
            return AddTo(found[3], -int(found[2]))
        case _:
            return SetTo(found[3], int(found[4]))


@dataclass(frozen=True, slots=True)
class Clauses:
    """Reads conditions; `states` gives the number of each state by region and name.

    `outputs` are those that a motor is found among that is asked whether it is moving.
    """

    states: Mapping[tuple[str, str], int]
    outputs: tuple[Output, ...] = ()

    def read(self, text: str) -> Condition:
        condition, left = self._joined(text)
        assert not left, f"{left!r} is left of {text!r}"
        return condition

    def _joined(self, text: str) -> tuple[Condition, str]:
        first, left = self._part(text)
        parts = [first]
        word = next((each for each in (" and ", " or ") if left.startswith(each)), "")
        while word and left.startswith(word):
            part, left = self._part(left.removeprefix(word))
            parts.append(part)
        if not word:
            return first, left
        return (And if word == " and " else Or)(tuple(parts)), left

    def _part(self, text: str) -> tuple[Condition, str]:
        if text.startswith("("):
            inner, left = self._joined(text[1:])
            assert left.startswith(")"), left
            return inner, left[1:]
        if text.startswith("it is not so that "):
            inner, left = self._part(text.removeprefix("it is not so that "))
            return Not(inner), left
        for form, make in _FORMS:
            found = re.match(form, text)
            if found:
                return make(self, found), text[found.end() :]
        raise AssertionError(f"no clause: {text!r}")


def _either(_: Clauses, found: re.Match[str]) -> Condition:
    return Is(found[1], tuple(found[2].split(" or ")))


def _neither(_: Clauses, found: re.Match[str]) -> Condition:
    return Is(found[1], tuple(found[2].split(" nor ")), negated=True)


def _compare(_: Clauses, found: re.Match[str]) -> Condition:
    return Compare(found[1], _SIGNS[found[2] or ""], int(found[3]))


def _held(_: Clauses, found: re.Match[str]) -> Condition:
    return HeldFor(found[1], found[2], time_in(found[3]))


def _becomes(_: Clauses, found: re.Match[str]) -> Condition:
    return Becomes(found[1], found[2])


def _done(_: Clauses, found: re.Match[str]) -> Condition:
    return Done(found[1], negated=found[2] is not None)


def _moving(clauses: Clauses, found: re.Match[str]) -> Condition:
    motor = next(each for each in clauses.outputs if each.name == found[1])
    return is_moving(motor, NOWHERE, negated=found[2] is not None)


def _is(_: Clauses, found: re.Match[str]) -> Condition:
    return Is(found[1], (found[3],), negated=found[2] is not None)


def _in(clauses: Clauses, found: re.Match[str]) -> Condition:
    number = clauses.states[found[1], found[3]]
    return InState(found[1], number, negated=found[2] is not None)


_FORMS: tuple[tuple[str, Callable[[Clauses, re.Match[str]], Condition]], ...] = (
    (r"the count `(\w+)` is (not |less than |at most |more than |at least )?(-?\d+)", _compare),
    (rf"{THING} is either (\w+(?: or {_A_VALUE})+)", _either),
    (rf"{THING} is neither (\w+(?: nor \w+)+)", _neither),
    (rf"{THING} has been (\w+) for ({TIME})", _held),
    (rf"{THING} becomes (\w+)", _becomes),
    (r"`(\w+)` is (not )?in `(\w+)`", _in),
    (rf"the move of {THING} is (not )?done", _done),
    (rf"{THING} is (not )?moving", _moving),
    (rf"{THING} is (not )?(\w+)", _is),
)
