"""A recording from the bench held against the behaviour: all that can be said of it.

Nothing is said to hold that was not shown: a rule whose question never came up was not asked, and
what was not recorded is judged by what the behaviour does, for as long as it agrees, or not at all.
"""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import Enum

from behaviour.bench.capture import Capture, CaptureError, Sort
from behaviour.bench.following import Followed, Tolerance, follow
from behaviour.bench.seen_loops import SeenLoops, on_loops, seen_loops, without_filters
from behaviour.bench.windows import Course, Crossing, course_of
from behaviour.check.judging import Breach, Sights, breaches
from behaviour.explore.guards import atoms
from behaviour.findings import Beat
from behaviour.fingerprint import fingerprint
from behaviour.model import (
    Compare,
    Done,
    InState,
    Micros,
    Model,
    Rule,
    WayBack,
    Whenever,
)
from behaviour.rehearse.coverage import Coverage, Mark, all_of, is_asked, shown_in
from behaviour.rehearse.coverage import Sort as Shown
from behaviour.semantics import NotKnownError, filter_loops
from behaviour.wording import duration

MOST_LOOPS = 200_000
"""Loops that a recording may last for, half an hour or so; each is looked at by every rule."""


class Kept(Enum):
    """What a recording says of a rule."""

    BROKEN = "broken"
    KEPT = "not broken here"
    NOT_ASKED = "not asked"
    NOT_JUDGED = "not judged"


@dataclass(frozen=True, slots=True)
class RuleSeen:
    """A rule in a recording. `why` says what is missing; `breach` is the first, in loop `loop`.

    `by_behaviour` names what was not recorded, and was taken to be as the behaviour has it.
    """

    rule: Rule
    kept: Kept
    why: str = ""
    loop: int = 0
    breach: Breach | None = None
    by_behaviour: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class QuickChange:
    """An input that counted again so few loops after it last had; its filter needs `needed`."""

    input: str
    value: str
    at: Micros
    loops: int
    needed: int


@dataclass(frozen=True, slots=True)
class Comparison:
    """What comes of one recording. Times of it are as the recording has them."""

    capture: Capture
    tolerance: Tolerance
    fingerprint: str
    followed: Followed
    seen: SeenLoops
    rules: tuple[RuleSeen, ...]
    courses: tuple[Course, ...]
    coverage: Coverage
    quick: tuple[QuickChange, ...]

    @property
    def is_other_file(self) -> bool:
        return self.capture.fingerprint not in (None, self.fingerprint)

    @property
    def is_upset(self) -> bool:
        """Tell whether the firmware says that it found its memory upset."""
        return self.capture.counted and "upsets" in self.capture.unused

    @property
    def crossings(self) -> tuple[Crossing, ...]:
        return tuple(each for course in self.courses for each in course.crossings)

    @property
    def late_loops(self) -> tuple[int, int]:
        """Give how many loops came late or were left out, and the most in a row."""
        total = worst = row = 0
        for view in self.seen.views:
            row = row + 1 if view.stimulus.beat is Beat.SKIPS else 0
            total, worst = total + (row > 0), max(worst, row)
        return total, worst

    @property
    def is_broken(self) -> bool:
        return bool(
            self.followed.mismatches
            or self.is_other_file
            or self.is_upset
            or self.quick
            or any(each.kept is Kept.BROKEN for each in self.rules)
            or any(each.is_broken for each in self.crossings)
        )


def compare(model: Model, capture: Capture, tolerance: Tolerance, seconds: float) -> Comparison:
    """Hold a recording that begins at power-up against the behaviour.

    Raises CaptureError where there is nothing in it to compare, and NotKnownError.
    """
    if all(each.sort is Sort.INPUT for each in capture.signals):
        raise CaptureError("it has inputs alone, and nothing that the prop does")
    if capture.begins > capture.ends or (capture.begins == capture.ends and not capture.counted):
        raise CaptureError("it ends before the prop is switched on")
    lasts, most = capture.ends - capture.begins, MOST_LOOPS * model.loop
    if lasts > most:
        raise CaptureError(f"it lasts for {duration(lasts)}, and {duration(most)} are the most")
    quick: tuple[QuickChange, ...] = ()
    played = model
    if capture.counted:
        capture = on_loops(model, capture)
        tolerance = replace(tolerance, slack=0, clocks=0, boot=0)
        quick = tuple(_too_quick(model, capture))
        played = without_filters(model)
    followed = follow(played, capture, tolerance, seconds)
    seen = seen_loops(model, capture, followed)
    courses = tuple(_courses(model, capture, seen, tolerance)) if seen.views else ()
    seen = _with_mechanism(model, seen, courses)
    shown = _shown(model, capture, seen)
    return Comparison(
        capture,
        tolerance,
        fingerprint(model),
        followed,
        seen,
        tuple(_rules(model, capture, seen, courses)) if seen.views else (),
        courses,
        Coverage(
            tuple(mark for mark in all_of(model) if mark.sort is not Shown.RULE), frozenset(shown)
        ),
        quick,
    )


def _shown(model: Model, capture: Capture, seen: SeenLoops) -> Iterator[Mark]:
    """List what was shown: of regions that were not recorded only where all inputs were."""
    is_whole = not _missing(model, capture)
    for view in seen.views[: seen.agreed]:
        for mark in shown_in(model, view):
            if is_whole or capture.signal(Sort.REGION, mark.name) is not None:
                yield mark


def _missing(model: Model, capture: Capture) -> tuple[str, ...]:
    """Name the inputs that were not recorded."""
    names = (item.name for item in model.inputs)
    return tuple(name for name in names if capture.signal(Sort.INPUT, name) is None)


# --- Rules --------------------------------------------------------------------------------------


def _rules(
    model: Model, capture: Capture, seen: SeenLoops, courses: Sequence[Course]
) -> Iterator[RuleSeen]:
    for rule in model.rules:
        try:
            yield _rule(model, rule, capture, seen, courses)
        except NotKnownError as problem:
            yield RuleSeen(rule, Kept.NOT_JUDGED, str(problem))


def _rule(
    model: Model, rule: Rule, capture: Capture, seen: SeenLoops, courses: Sequence[Course]
) -> RuleSeen:
    asked = rule.requirement
    if isinstance(asked, WayBack) or (isinstance(asked, Whenever) and asked.limit is None):
        return RuleSeen(rule, Kept.NOT_JUDGED, "no recording can break it")
    never, inferred = _not_recorded(model, rule, capture, courses)
    if inferred:
        never += _missing(model, capture)
    if never:
        return RuleSeen(rule, Kept.NOT_JUDGED, f"{_named(dict.fromkeys(never))} not recorded")
    views = seen.views[: seen.agreed] if inferred else seen.views
    if not views:
        return RuleSeen(rule, Kept.NOT_JUDGED, f"{_named(inferred)} not recorded")
    found = breaches(model, asked, views, rule.scope)
    if found:
        loop = min(found)
        return RuleSeen(rule, Kept.BROKEN, "", loop, found[loop], inferred)
    if not is_asked(rule, Sights(model, views)):
        return RuleSeen(rule, Kept.NOT_ASKED, by_behaviour=inferred)
    return RuleSeen(rule, Kept.KEPT, by_behaviour=inferred)


def _not_recorded(
    model: Model, rule: Rule, capture: Capture, courses: Sequence[Course]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Name what a rule is about that cannot be known, and what only the behaviour says."""
    never: dict[str, None] = {}
    inferred: dict[str, None] = {}
    places = dict(zip(_tracked(model), courses, strict=True))
    for atom in (atom for condition in rule.conditions() for atom in atoms(condition)):
        match atom:
            case Done(name=name):
                never[name] = None
            case InState(region=name) if name not in model.region_index:
                course = places.get(name)
                if course is None or None in course.places:
                    never[name] = None
            case InState(region=name):
                if capture.signal(Sort.REGION, name) is None:
                    inferred[name] = None
            case Compare(name=name):
                if capture.signal(Sort.COUNTER, name) is None:
                    inferred[name] = None
            case _ if atom.name in model.input_index:
                if capture.signal(Sort.INPUT, atom.name) is None:
                    never[atom.name] = None
            case _:
                if capture.signal(Sort.OUTPUT, atom.name) is None:
                    inferred[atom.name] = None
    return tuple(never), tuple(inferred)


def _named(names: Collection[str]) -> str:
    words = ", ".join(f"`{name}`" for name in names)
    return f"{words} {'is' if len(names) == 1 else 'are'}"


# --- The hardware -------------------------------------------------------------------------------


def _tracked(model: Model) -> tuple[str, ...]:
    """Name the mechanisms that the file writes."""
    return tuple(each.name for each in model.written_mechanism)


def _courses(
    model: Model, capture: Capture, seen: SeenLoops, tolerance: Tolerance
) -> Iterator[Course]:
    spare = -(-(2 * tolerance.slack) // model.loop)
    for mechanism in model.written_mechanism:
        reads = {name for state in mechanism.states for name, _ in state.reads}
        number = model.mechanism_index[mechanism.name]
        course = course_of(model, number, seen.views, spare, tolerance.clocks)
        if reads and all(capture.signal(Sort.INPUT, name) for name in reads):
            yield replace(course, crossings=_told(course))
        else:
            unknown = (None,) * len(course.places)
            yield Course(unknown, course.likely, ())


def _told(course: Course) -> tuple[Crossing, ...]:
    """Leave out that a movement is overdue where it ends later, and what is not certain."""
    found: list[Crossing] = []
    for each in course.crossings:
        if found and not found[-1].is_over and found[-1].source == each.source:
            found.pop()
        found.append(each)
    return tuple(
        each
        for each in found
        if each.is_broken or None not in course.places[max(each.loop - 1, 0) : each.loop + 1]
    )


def _with_mechanism(model: Model, seen: SeenLoops, courses: Sequence[Course]) -> SeenLoops:
    """Put where each mechanism most likely stood into the loops."""
    views = list(seen.views)
    for name, course in zip(_tracked(model), courses, strict=False):
        place = model.mechanism_index[name]
        for loop, state in enumerate(course.likely):
            stands = list(views[loop].stimulus.mechanism)
            stands[place] = state
            stimulus = replace(views[loop].stimulus, mechanism=tuple(stands))
            views[loop] = replace(views[loop], stimulus=stimulus)
    return replace(seen, views=tuple(views))


# --- The filters of a trace ---------------------------------------------------------------------


def _too_quick(model: Model, capture: Capture) -> Iterator[QuickChange]:
    """List the inputs that counted anew before their filter can have let that through."""
    for signal in capture.of(Sort.INPUT):
        item = model.input[signal.name]
        first = signal.stretches[0].at
        for before, each in zip(signal.stretches, signal.stretches[1:], strict=False):
            loops = (each.at - before.at) // model.loop
            needed = filter_loops(model, item, each.value) + 1
            if before.at == first and before.value == item.presumed and each.value == item.safe:
                needed -= 1
            if loops < needed:
                yield QuickChange(signal.name, each.value, each.at, loops, needed)
