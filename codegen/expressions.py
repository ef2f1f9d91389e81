"""Conditions: built, made simpler where a compiler would warn, and laid out on lines.

Strategy: a comparison knows for which numbers of its variable it holds, so that a conjunction that
can never be true, or a disjunction that always is, is found here and not by a compiler.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import assert_never

Ranges = tuple[tuple[int, int], ...]
"""Whole numbers as stretches from low to high, both included, rising, apart from each other."""


@dataclass(frozen=True, slots=True)
class Subject:
    """What is compared: C that names it, and the numbers it can have."""

    text: str
    low: int
    high: int


@dataclass(frozen=True, slots=True)
class Term:
    """A comparison or a call. With a `subject`, it is true for the numbers of `holds`.

    A `bare` one, such as a call, needs no brackets beside `&&`.
    """

    text: str
    bare: bool = False
    subject: Subject | None = None
    holds: Ranges = ()


@dataclass(frozen=True, slots=True)
class Negated:
    part: "Expression"


@dataclass(frozen=True, slots=True)
class All:
    parts: tuple["Expression", ...]


@dataclass(frozen=True, slots=True)
class Either:
    parts: tuple["Expression", ...]


@dataclass(frozen=True, slots=True)
class Constant:
    is_true: bool


Expression = Term | Negated | All | Either | Constant


@dataclass(frozen=True, slots=True)
class Joints:
    """What a language joins conditions with, and whether comparisons need brackets beside it."""

    both: str
    either: str
    no: str
    true: str
    false: str
    brackets: bool


IN_C = Joints(both="&&", either="||", no="!", true="true", false="false", brackets=True)
IN_PYTHON = Joints(both="and", either="or", no="not ", true="True", false="False", brackets=False)

OPPOSITES = {"==": "!=", "!=": "==", "<": ">=", ">=": "<", ">": "<=", "<=": ">"}

ALWAYS = Constant(is_true=True)
NEVER = Constant(is_true=False)


def negated(part: Expression) -> Expression:
    """Turn a condition round, down to its single terms: `!(a && b)` becomes `!a || !b`."""
    match part:
        case Constant(is_true=is_true):
            return Constant(not is_true)
        case Negated(part=inner):
            return inner
        case All(parts=parts):
            return any_of(negated(each) for each in parts)
        case Either(parts=parts):
            return all_of(negated(each) for each in parts)
        case Term():
            return _opposite(part)
        case _:
            assert_never(part)


def _opposite(term: Term) -> Expression:
    if term.subject is None or term.bare:
        return Negated(term)
    left, sign, right = term.text.rsplit(" ", 2)
    holds = outside(term.holds, term.subject.low, term.subject.high)
    return Term(f"{left} {OPPOSITES[sign]} {right}", subject=term.subject, holds=holds)


def all_of(parts: Iterable[Expression]) -> Expression:
    """Join conditions that must all hold; NEVER if they cannot, ALWAYS if there is none."""
    flat = _flat(parts, All)
    if NEVER in flat or _meets(flat) is False:
        return NEVER
    kept = tuple(part for part in flat if part != ALWAYS)
    if len(kept) < 2:  # noqa: PLR2004
        return kept[0] if kept else ALWAYS
    return All(kept)


def any_of(parts: Iterable[Expression]) -> Expression:
    """Join conditions of which one must hold; ALWAYS if one surely does, NEVER if there is none."""
    flat = _flat(parts, Either)
    if ALWAYS in flat or _covers(flat):
        return ALWAYS
    kept = tuple(part for part in flat if part != NEVER)
    if len(kept) < 2:  # noqa: PLR2004
        return kept[0] if kept else NEVER
    return Either(kept)


def laid_out(
    expression: Expression, first_room: int, room: int, joints: Joints = IN_C
) -> list[str]:
    """Lay a condition out on lines: one if it fits `first_room`, else one for each operand."""
    whole = written(expression, joints)
    if len(whole) <= first_room or not isinstance(expression, All | Either):
        return [whole] if len(whole) <= first_room else _operand(expression, "", room, joints)
    sign = joints.both if isinstance(expression, All) else joints.either
    lines: list[str] = []
    for part in expression.parts:
        lead = f"{sign} " if lines else ""
        lines += _operand(part, lead, room, joints)
    return lines


def written(expression: Expression, joints: Joints = IN_C) -> str:
    """Write a condition on one line."""
    match expression:
        case Term(text=text):
            return text
        case Negated(part=part):
            return f"{joints.no}{_inner(part, joints)}"
        case All(parts=parts):
            return f" {joints.both} ".join(_inner(part, joints) for part in parts)
        case Either(parts=parts):
            return f" {joints.either} ".join(_inner(part, joints) for part in parts)
        case Constant(is_true=is_true):
            return joints.true if is_true else joints.false
        case _:
            assert_never(expression)


def within(ranges: Ranges, others: Ranges) -> Ranges:
    """Give the numbers that are in both."""
    found = [
        (max(low, other_low), min(high, other_high))
        for low, high in ranges
        for other_low, other_high in others
        if max(low, other_low) <= min(high, other_high)
    ]
    return tuple(sorted(found))


def outside(ranges: Ranges, low: int, high: int) -> Ranges:
    """Give the numbers from `low` to `high` that are not in `ranges`."""
    found, at = [], low
    for begin, end in sorted(ranges):
        if begin > at:
            found.append((at, begin - 1))
        at = max(at, end + 1)
    if at <= high:
        found.append((at, high))
    return tuple(found)


def _flat(parts: Iterable[Expression], kind: type[All] | type[Either]) -> list[Expression]:
    flat: list[Expression] = []
    for part in parts:
        for inner in part.parts if isinstance(part, kind) else (part,):
            if inner not in flat:
                flat.append(inner)
    return flat


def _meets(parts: Iterable[Expression]) -> bool:
    """Tell whether each subject has a number for which all its terms hold."""
    left: dict[Subject, Ranges] = {}
    for subject, holds in _compared(parts):
        left[subject] = within(left.get(subject, ((subject.low, subject.high),)), holds)
    return all(left.values())


def _covers(parts: Iterable[Expression]) -> bool:
    """Tell whether the terms of some one subject leave none of its numbers out."""
    met: dict[Subject, Ranges] = {}
    for subject, holds in _compared(parts):
        met[subject] = met.get(subject, ()) + holds
    return any(not outside(ranges, of.low, of.high) for of, ranges in met.items())


def _compared(parts: Iterable[Expression]) -> Iterator[tuple[Subject, Ranges]]:
    """List, for each part that compares a subject, the numbers for which it holds."""
    for part in parts:
        match part:
            case Term(subject=Subject() as subject, holds=holds):
                yield subject, holds
            case Negated(part=Term(subject=Subject() as subject, holds=holds)):
                yield subject, outside(holds, subject.low, subject.high)
            case _:
                continue


def _inner(part: Expression, joints: Joints) -> str:
    text = written(part, joints)
    is_bare = isinstance(part, Negated | Constant)
    is_bare = is_bare or (isinstance(part, Term) and (part.bare or not joints.brackets))
    return text if is_bare else f"({text})"


def _operand(part: Expression, lead: str, room: int, joints: Joints) -> list[str]:
    whole = lead + _inner(part, joints)
    if len(whole) <= room:
        return [whole]
    if isinstance(part, Negated):
        return _operand(part.part, f"{lead}{joints.no}", room, joints)
    if not isinstance(part, All | Either):
        return [whole]
    first, *rest = laid_out(part, 0, room - 4, joints)
    lines = [f"{lead}({first}", *(f"    {line}" for line in rest)]
    lines[-1] += ")"
    return lines
