"""What came of a recording held against the behaviour, as text for people."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import replace

from behaviour.bench.capture import Sort
from behaviour.bench.comparing import Comparison, Kept, RuleSeen
from behaviour.bench.sighting import Mismatch
from behaviour.bench.windows import Crossing
from behaviour.check.closing import breach_words
from behaviour.findings import Run
from behaviour.model import Micros, Model
from behaviour.report.coverage_text import mark_words
from behaviour.report.paint import PLAIN, Paint
from behaviour.story import LoopView, has_changed
from behaviour.telling import clock_at, tell_loop
from behaviour.wording import duration, times

FINEST: Micros = 1000
MOST_NAMED = 12
SINCE = re.compile(r" \((?:held|really) since [0-9.]+\)")
"""Times by the controller's own clock, which is not that of the recording."""
FEW_LOOPS = 3
WHEN_SWITCHED_ON = (
    "a recording is taken to begin with the prop switched on: if it was switched on later, say "
    "when with `--power-up`, and if its first loop comes late, how late with `--boot`"
)
MOST_BEFORE = 5
"""Loops that are told before the first difference."""


def comparison_text(model: Model, name: str, told: Comparison, paint: Paint = PLAIN) -> str:
    """Tell whether the recording agrees, and what it shows of rules and hardware."""
    lines = [*_verdict(model, name, told, paint), *_inputs(model, told, paint)]
    lines += _hardware(model, told, paint)
    lines += _rules(model, told, paint)
    lines += _not_shown(model, told)
    return "".join(f"{line}\n" for line in lines)


def verdict_word(told: Comparison) -> str:
    """Give the one word on a recording."""
    if told.is_broken:
        return "differs" if told.followed.mismatches or told.is_other_file else "broken"
    return "not decided" if told.followed.open else "agrees"


def when(at: Micros) -> str:
    """Write a moment of the recording, in seconds."""
    return f"{clock_at(at, FINEST)} s"


# --- The verdict --------------------------------------------------------------------------------


def _verdict(model: Model, name: str, told: Comparison, paint: Paint) -> Iterator[str]:
    word = verdict_word(told)
    shown = paint.good(word) if word == "agrees" else paint.bad(word)
    yield f"{shown}  {name}: {model.prop}, fingerprint {told.fingerprint}"
    if told.is_other_file:
        yield (
            f"   it is a recording of {told.capture.fingerprint}: of another file, or of this one "
            "before it was changed"
        )
    elif told.capture.fingerprint is None:
        yield "   the recording does not say which file it is of"
    yield from _story(model, told)
    yield from _difference(told)
    yield f"   {_how_far(told)}"
    if (
        told.followed.mismatches
        and told.seen.agreed <= FEW_LOOPS
        and not told.capture.from_power_up
    ):
        yield f"   {WHEN_SWITCHED_ON}"
    yield f"   {_how_exactly(model, told)}"
    total, worst = told.late_loops
    if total:
        late = f"{times(total)}, by {_loops(worst)} at most"
        yield f"   it agrees only with loops that came late: {late}"


def _story(model: Model, told: Comparison) -> Iterator[str]:
    """Tell the last of what the prop did before the first difference."""
    views = tuple(_as_it_read(view) for view in told.seen.views[: told.seen.agreed])
    if not told.followed.mismatches or not views:
        return
    run = Run(tuple(view.stimulus for view in views))
    changed = [view for view in views if not view.loop or has_changed(views[view.loop - 1], view)]
    for view in changed[-MOST_BEFORE:]:
        line = tell_loop(model, run, views, view)
        words = "  ".join(cell for cell in (line.happened, line.moved, line.drives) if cell)
        if words:
            yield f"   {when(told.seen.at[view.loop])}  {SINCE.sub('', words)}"


def _as_it_read(view: LoopView) -> LoopView:
    raw = tuple(item.raw for item in view.state.inputs)
    return replace(view, stimulus=replace(view.stimulus, raw=raw))


def _difference(told: Comparison) -> Iterator[str]:
    for each in told.followed.mismatches:
        yield f"   {when(each.at)}  {_thing(each, each.seen)} seen"
        allowed = dict.fromkeys(
            other.expected
            for other in (each, *told.followed.also)
            if (other.sort, other.name) == (each.sort, each.name)
        )
        words = " or ".join(_thing(each, value) for value in allowed)
        yield f"   {' ' * len(when(each.at))}  {words} expected{_later(told, each)}"


def _later(told: Comparison, each: Mismatch) -> str:
    """Say how much later what was expected does come, if it is what comes next."""
    signal = told.capture.signal(each.sort, each.name)
    after = () if signal is None else signal.stretches[signal.number(each.at) + 1 :][:1]
    if not after or after[0].value != each.expected:
        return ""
    late = max(round(after[0].at - each.at, -3), FINEST)
    return f", and seen {duration(late)} later"


def _thing(each: Mismatch, value: str) -> str:
    return f"{each.name} in {value}" if each.sort is Sort.REGION else f"{each.name} {value}"


def _how_far(told: Comparison) -> str:
    outcome = told.followed
    names = ", ".join(s.name for s in told.capture.signals if s.sort is not Sort.INPUT)
    until = when(outcome.until)
    if outcome.open:
        return f"not decided beyond {until}: {outcome.open}"
    if outcome.mismatches:
        return f"up to {until} every change of {names} is one that the behaviour allows"
    return f"every change of {names} is one that the behaviour allows, up to {until}"


def _how_exactly(model: Model, told: Comparison) -> str:
    if told.capture.counted:
        return "a trace: each loop is known, and inputs as they count"
    tolerance = told.tolerance
    return (
        f"moments within {duration(tolerance.slack)}, clocks within "
        f"{tolerance.clocks / 10_000:g} %, loops of {duration(model.loop)} at any moment"
    )


def _loops(count: int) -> str:
    return "1 loop" if count == 1 else f"{count} loops"


# --- Inputs and hardware ------------------------------------------------------------------------


def _inputs(model: Model, told: Comparison, paint: Paint) -> Iterator[str]:
    missing = [
        item.name for item in model.inputs if told.capture.signal(Sort.INPUT, item.name) is None
    ]
    if missing:
        yield f"   not recorded, so that anything was allowed of it: {', '.join(missing)}"
    if told.is_upset:
        yield f"   {paint.bad('upset')}   the firmware found its memory upset: see `upsets` there"
    if told.capture.unused:
        yield f"   not looked at: {_few(told.capture.unused)}"
    for each in told.quick:
        yield (
            f"   {paint.bad('filter')}  {when(each.at)}  {each.input} counts as "
            f"{each.value} {_loops(each.loops)} after it last changed; its filter needs "
            f"{each.needed}"
        )


def _hardware(model: Model, told: Comparison, paint: Paint) -> Iterator[str]:
    if any(each.is_broken or each.is_whole for each in told.crossings):
        yield paint.strong("hardware")
    for each in told.crossings:
        if each.is_broken:
            yield f"   {paint.bad('outside')}  {_crossing_words(model, told, each)}"
    whole: dict[tuple[str, int, int], list[Crossing]] = {}
    for each in told.crossings:
        if not each.is_broken and each.is_whole:
            whole.setdefault((each.mechanism, each.source, each.target), []).append(each)
    for (name, source, target), found in whole.items():
        took = [each.took or 0 for each in found]
        least, most = (duration(loops * model.loop) for loops in (min(took), max(took)))
        span = least if least == most else f"{least} to {most}"
        move = _move_words(model, name, source, target)
        yield f"   within   {move}: {times(len(found))}, {span}; {_window(model, found[0])}"


def _crossing_words(model: Model, told: Comparison, each: Crossing) -> str:
    at = when(told.seen.at[each.loop])
    move = _move_words(model, each.mechanism, each.source, each.target)
    if each.took is None and each.source == each.target:
        return f"{at}  {each.mechanism}: what is read fits none of its states"
    if each.took is None:
        return f"{at}  {move}: no movement of the file explains it"
    took = duration(each.took * model.loop)
    if not each.is_over:
        return f"{at}  {move} has not come after {took}; {_window(model, each)}"
    return f"{at}  {move} took {took}; {_window(model, each)}"


def _move_words(model: Model, name: str, source: int, target: int) -> str:
    states = model.mechanisms[name].states
    return f"{name}: {states[source].name} -> {states[target].name}"


def _window(model: Model, each: Crossing) -> str:
    low, high = (duration(loops * model.loop) for loops in (each.low, each.high))
    if not each.is_whole:
        return f"the file says {high} at most"
    return f"the file says {low if low == high else f'{low} to {high}'}"


# --- Rules, and what was not shown --------------------------------------------------------------


def _rules(model: Model, told: Comparison, paint: Paint) -> Iterator[str]:
    if told.rules:
        yield paint.strong("rules")
    width = max(len(kept.value) for kept in Kept)
    for each in told.rules:
        word = f"{each.kept.value:<{width}}"
        word = paint.bad(word) if each.kept is Kept.BROKEN else word
        why = f": {each.why}" if each.why else ""
        yield f"   {word}  {each.rule.name}{why}"
        if each.kept is Kept.BROKEN and each.breach is not None:
            at = when(told.seen.at[each.loop])
            words = breach_words(model, each.rule.requirement, each.breach)
            yield f"   {' ' * width}  {at}  {words}"
        if each.by_behaviour:
            yield f"   {' ' * width}  {_by_behaviour(each)}"


def _by_behaviour(each: RuleSeen) -> str:
    names = ", ".join(each.by_behaviour)
    return f"judged with {names} as the behaviour has it: not recorded"


def _not_shown(model: Model, told: Comparison) -> Iterator[str]:
    """Name what the recording says nothing of."""
    missing = told.coverage.missing()
    for sort in dict.fromkeys(mark.sort for mark in missing):
        names = [mark_words(model, mark) for mark in missing if mark.sort is sort]
        yield f"not shown of the {sort.value}"
        yield from (f"   {name}" for name in names)


def _few(names: Iterable[str]) -> str:
    names = list(names)
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    return ", ".join(names[:MOST_NAMED]) + more
