"""A run told loop by loop in the words of the trade: when, what happened, who moved, what drives.

It tells what happened and judges nothing; what no single loop tells comes with the run as `says`.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from behaviour.faulting_words import effect_words
from behaviour.findings import Beat, Run
from behaviour.model import Input, Micros, Model, Part, Region, Transition
from behaviour.semantics import Fired, RegionState, filter_loops
from behaviour.story import LoopView, replay, stalled_movement, steps
from behaviour.wording import condition_words, cue_name, duration, time_words

MOST_LINES = 40
WIDEST_CELL = 44


@dataclass(frozen=True, slots=True)
class Told:
    """One line of a story. An empty cell is a thing that did not change."""

    loop: int
    happened: str
    moved: str = ""
    drives: str = ""


def tell(model: Model, run: Run) -> tuple[str, ...]:
    """Tell a run as lines in columns; the middle of a very long one is left out and said to be."""
    return _in_columns(model, told_lines(model, run))


def told_lines(model: Model, run: Run) -> tuple[Told, ...]:
    """Tell each loop in which something changed, and after it what the run says of that loop."""
    views = replay(model, run)
    lines = []
    for view in steps(run, views):
        told = tell_loop(model, run, views, view)
        if told.happened or told.moved or told.drives:
            lines.append(told)
        lines += [Told(view.loop, words) for loop, words in run.says if loop == view.loop]
    if run.repeats_from is not None:
        words = f"and so on for ever, from {clock(model, run.repeats_from)} s on"
        if any(loop == views[-1].loop for loop, _ in run.says):
            words = f"{lines.pop().happened}, {words}"
        lines.append(Told(views[-1].loop, words))
    return tuple(lines)


def says_by_loop(model: Model, run: Run) -> dict[int, str]:
    """Give the words of each loop that has any, without what a JSON story shows beside them."""
    said: dict[int, str] = {}
    for line in told_lines(model, run):
        before = said.get(line.loop, "")
        said[line.loop] = "; ".join(part for part in (before, line.happened) if part)
    return said


def clock(model: Model, loop: int) -> str:
    """Write when a loop begins, in seconds to the hundredth, or finer where loops are."""
    return clock_at(loop * model.loop, model.loop)


def clock_at(at: Micros, tick: Micros) -> str:
    """Write a moment in seconds, to the hundredth or, where moments stand closer, finer."""
    digits = 2 if tick % 10_000 == 0 else 3
    return f"{at / 1_000_000:.{digits}f}"


# --- One loop -----------------------------------------------------------------------------------


def tell_loop(model: Model, run: Run, views: Sequence[LoopView], view: LoopView) -> Told:
    """Tell one loop of a run; `views` are all of its loops, or those that were played so far."""
    if view.loop == 0:
        happened = ["power on", *_readings_at_power_up(model, view)]
    else:
        happened = _events(model, views, view)
    before = views[view.loop - 1] if view.loop else None
    happened += _stall(model, before, view)
    happened += _failures(model, run, before, view)
    moved = _moves(model, before, view)
    if before is not None:
        happened += _reasons(model, before, view, only_times=bool(happened))
    return Told(view.loop, ", ".join(happened), ", ".join(moved), _driven(model, before, view))


def _readings_at_power_up(model: Model, view: LoopView) -> list[str]:
    """Say where the mechanism stands, what guards and stops read, and what is not as usual."""
    words = []
    for item, raw, now in zip(model.inputs, view.stimulus.raw, view.state.inputs, strict=True):
        if item.is_protective or raw != item.values[0]:
            words.append(f"{item.name} {raw}{'' if now.steady == raw else ' (not counted yet)'}")
    for mechanism, state in zip(model.mechanism, view.stimulus.mechanism, strict=True):
        if not mechanism.motion_of:
            words.append(f"{mechanism.name} {mechanism.states[state].name}")
    return words


def _events(model: Model, views: Sequence[LoopView], view: LoopView) -> list[str]:
    """Say what came from outside: what the mechanism did, what is done, what inputs changed."""
    before = views[view.loop - 1]
    words = []
    for mechanism, was, now in zip(
        model.mechanism, before.stimulus.mechanism, view.stimulus.mechanism, strict=True
    ):
        if was != now and mechanism.motion_of:
            words += [f"{mechanism.motion_of} stands still"] if now == mechanism.begins else []
        elif was != now:
            words.append(f"{mechanism.name} reaches {mechanism.states[now].name}")
    words += [f"{motor} is done" for motor in view.state.done if motor not in before.state.done]
    for place, item in enumerate(model.inputs):
        words += _input_event(model, item, place, views, view)
    return words


def _stall(model: Model, before: LoopView | None, view: LoopView) -> list[str]:
    """Say from when on a movement never ends."""
    stuck = stalled_movement(model, view.stimulus)
    if stuck is None or (before is not None and before.stimulus.stalled is not None):
        return []
    mechanism, movement = stuck
    source, target = (mechanism.states[n].name for n in (movement.source, movement.target))
    return [f"from here on `{source} -> {target}` of `{mechanism.name}` never ends"]


def _failures(model: Model, run: Run, before: LoopView | None, view: LoopView) -> list[str]:
    """Say what is wrong from this loop on, what is there but not read, and if it skips a loop."""
    known = () if before is None else before.stimulus.wrong
    words = [
        effect_words(model, run.faults[number])
        for number in view.stimulus.wrong
        if number not in known
    ]
    for place, item in enumerate(model.inputs):
        hidden = _hidden(view, place)
        if hidden is not None and (before is None or _hidden(before, place) != hidden):
            words.append(f"{item.name} is really {hidden}")
    if view.stimulus.beat is not (Beat.RUNS if before is None else before.stimulus.beat):
        words.append(_BEATS[view.stimulus.beat])
    return words


def _hidden(view: LoopView, place: int) -> str | None:
    """Give what is truly there at an input if that is not what the controller last read."""
    true = view.true[place]
    return None if true == view.state.inputs[place].raw else true


_BEATS = {
    Beat.RUNS: "the controller goes on",
    Beat.STARTS: "the controller starts again",
    Beat.SKIPS: "the controller makes no loop",
    Beat.IS_DOWN: "the controller is off",
}


def _input_event(
    model: Model, item: Input, place: int, views: Sequence[LoopView], view: LoopView
) -> list[str]:
    now = view.state.inputs[place]
    if now.became:
        if not now.run:
            return [f"{item.name} {now.steady}"]
        verb = "really" if item.is_protective and now.steady != item.safe else "held"
        return [f"{item.name} {now.steady} ({verb} since {clock(model, view.loop - now.run)})"]
    if now.raw == views[view.loop - 1].state.inputs[place].raw:
        return []
    if now.raw == now.steady:
        return [f"{item.name} {now.raw} again"]
    if _will_count(model, item, place, views, view):
        return []
    return [f"{item.name} {now.raw} (not counted yet)"]


def _will_count(
    model: Model, item: Input, place: int, views: Sequence[LoopView], view: LoopView
) -> bool:
    """Tell whether a reading that begins in this loop lasts until it counts, within the run."""
    raw = view.state.inputs[place].raw
    counts_at = view.loop + filter_loops(model, item, raw)
    held = views[view.loop : counts_at + 1]
    return counts_at < len(views) and all(
        later.stimulus.beat is Beat.RUNS and later.state.inputs[place].raw == raw for later in held
    )


# --- Regions and outputs ------------------------------------------------------------------------


def _moves(model: Model, before: LoopView | None, view: LoopView) -> list[str]:
    words = []
    for place, (region, now) in enumerate(zip(model.regions, view.state.regions, strict=True)):
        here = cue_name(region.states[now.leaf], now.cue)
        if before is None:
            words.append(f"{region.name} in {here}")
        elif now.fired is not None:
            was = before.state.regions[place]
            words.append(_move(region, was, now, now.fired))
    for place, counter in enumerate(model.counters):
        count = view.state.counters[place]
        if before is not None and count != before.state.counters[place]:
            words.append(f"{counter.name} {count}")
    words += [f"{name} held at its bound" for name in view.state.beyond]
    return words


def _move(region: Region, was: RegionState, now: RegionState, fired: Fired) -> str:
    here = cue_name(region.states[now.leaf], now.cue)
    way = fired.transition
    if way is None:
        return f"{region.name} in {here}"
    if way.target is None:
        return f"{region.name} stays in {here}"
    return f"{region.name}: {cue_name(region.states[was.leaf], was.cue)} -> {here}"


def _driven(model: Model, before: LoopView | None, view: LoopView) -> str:
    words = []
    for place, (output, value) in enumerate(zip(model.outputs, view.real, strict=True)):
        was = output.rest if before is None else before.real[place]
        wanted = view.state.outputs[place]
        if value != was:
            words.append(f"{output.name} {value}" + (f" (set {wanted})" * (wanted != value)))
    return ", ".join(words)


def _reasons(model: Model, before: LoopView, view: LoopView, *, only_times: bool) -> list[str]:
    """Say why regions moved; `only_times` leaves out what the events of the loop say already."""
    words: list[str] = []
    for region, was, now in zip(
        model.regions, before.state.regions, view.state.regions, strict=True
    ):
        way = now.fired.transition if now.fired is not None else None
        if now.fired is None:
            continue
        if way is None:
            at = region.states[now.leaf].cues[now.cue - 1].at
            words.append(f"{time_words(at)} in {region.states[now.leaf].name}")
        elif not only_times or way.after is not None or way.part is Part.END:
            words.append(_reason(model, region, was, way))
    return list(dict.fromkeys(words))


def _reason(model: Model, region: Region, was: RegionState, way: Transition) -> str:
    parts = [] if way.when is None else [condition_words(model, way.when)]
    where = "" if way.source is None else region.states[way.source].name
    if way.after is not None:
        time = dict(was.draws).get(way.number)
        lasted = time_words(way.after.low) if time is None else duration(time * model.loop)
        parts.append(f"{lasted} in {where}")
    elif way.part is Part.END:
        parts.append(f"the end of {where}")
    elif way.when is None:
        parts.append(f"the next loop in {where}")
    return ", ".join(parts)


# --- Layout -------------------------------------------------------------------------------------


def _in_columns(model: Model, lines: tuple[Told, ...]) -> tuple[str, ...]:
    kept, left_out = _shortened(lines)
    first = _width(line.happened for line in lines if line.moved or line.drives)
    second = _width(line.moved for line in lines if line.drives)
    width = max(len(clock(model, line.loop)) for line in lines)
    rows = [
        f"{clock(model, line.loop):>{width}} s  {line.happened:<{first}}  {line.moved:<{second}}  "
        f"{line.drives}".rstrip()
        for line in kept
    ]
    if left_out:
        rows.insert(MOST_LINES // 2, f"{'':>{width}}    ... {left_out} lines left out here ...")
    return tuple(rows)


def _shortened(lines: tuple[Told, ...]) -> tuple[tuple[Told, ...], int]:
    if len(lines) <= MOST_LINES:
        return lines, 0
    half = MOST_LINES // 2
    return lines[:half] + lines[-half:], len(lines) - 2 * half


def _width(cells: Iterable[str]) -> int:
    return min(WIDEST_CELL, max((len(cell) for cell in cells), default=0))
