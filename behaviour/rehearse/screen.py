"""A rehearsal as lines for a terminal: what reads, who is where, what drives, what happened.

It only lays out; what happened is told by `telling`.
"""

from collections.abc import Iterator, Sequence
from itertools import zip_longest
from textwrap import wrap

from behaviour.findings import Run
from behaviour.model import Model
from behaviour.rehearse.desk import INPUT_KEYS, KEYS, SPEEDS, Desk
from behaviour.semantics import NotKnownError
from behaviour.story import LoopView, has_changed, region_words
from behaviour.telling import clock, tell_loop
from behaviour.wording import duration
from behaviour.world.mechanism import window

GAP = "   "
INDENT = " " * 8
LOOKED_BACK = 50_000
"""Loops that are looked through, backwards, for what to tell."""


def screen(desk: Desk, width: int, height: int) -> tuple[str, ...]:
    """Lay the desk out in so many columns and lines.

    Where that is little, the keys stay, then what reads, is and drives, then what happened.
    """
    top = [*_wrapped(_head(desk), width), "", *_arranged(desk, width - 1), ""]
    bottom = ["", *_keys(width), desk.note][-(height - 1) :]
    room = max(height - 1 - len(bottom), 0)
    story = _story(desk, width, room - len(top))
    lines = [*top, *story][:room]
    return tuple(line[: width - 1] for line in [*lines, *[""] * (room - len(lines)), *bottom])


def _head(desk: Desk) -> str:
    speed = SPEEDS[desk.speed]
    going = "stands" if not desk.runs else "runs" if speed == 1 else f"runs at {speed:g} times"
    rest = len(desk.moments) - 1 - desk.at
    ahead = f", {rest} loops ahead were played" if rest else ""
    time = clock(desk.model, desk.at)
    return f"{desk.model.prop}   {time} s, {going}{ahead}   mechanism moves {desk.moves}"


def _inputs(desk: Desk) -> list[str]:
    model, now = desk.model, desk.now
    lines = ["inputs"]
    forced = desk.stage.forced(now)
    width = max((len(item.name) for item in model.inputs), default=0)
    for place, (key, item) in enumerate(zip_longest(INPUT_KEYS, model.inputs)):
        if item is None:
            break
        read = now.view.stimulus.raw[place]
        state = now.view.state.inputs[place]
        words = read if state.steady == read else f"{read} (counts as {state.steady})"
        if place in desk.wishes:
            words += f" -> {desk.wishes[place]}"
        held = " by the mechanism" if place in forced else ""
        lines.append(f"{key or ' '} {item.name:<{width}}  {words}{held}")
    return lines + _mechanism(desk)


def _mechanism(desk: Desk) -> list[str]:
    lines = ["", "mechanism"] if desk.model.mechanism else []
    for mechanism, stand in zip(desk.model.mechanism, desk.now.stands, strict=True):
        state = mechanism.states[stand.state]
        lines.append(f"  {mechanism.name}  {state.name}")
        for movement, progress in zip(state.movements, stand.progress, strict=True):
            if not progress.phase.is_running:
                continue
            target = mechanism.states[movement.target].name
            try:
                low, high = window(desk.model, movement, progress.phase)
            except NotKnownError as problem:
                lines.append(f"    to {target}: {problem}")
                continue
            first, last = (
                duration(max(end - progress.clock, 0) * desk.model.loop) for end in (low, high)
            )
            lines.append(f"    to {target} in {first} to {last}")
    return lines


def _regions(desk: Desk) -> list[str]:
    model, state = desk.model, desk.now.view.state
    lines = ["regions"]
    words = region_words(model, desk.now.view)
    width = max((len(name) for name in words), default=0)
    for (name, here), region in zip(words.items(), state.regions, strict=True):
        mark = ">" if region.fired is not None else " "
        lines.append(f"{mark} {name:<{width}}  {here}  {clock(model, region.timers[-1])} s")
    if model.counters:
        lines += ["", "counters"]
    for counter, count in zip(model.counters, state.counters, strict=True):
        lines.append(f"  {counter.name}  {count} of {counter.high}")
    return lines


def _outputs(desk: Desk) -> list[str]:
    lines = ["outputs (! can hurt)"]
    width = max((len(item.name) for item in desk.model.outputs), default=0)
    for output, value in zip(desk.model.outputs, desk.now.view.real, strict=True):
        mark = "!" if output.hazard and value != output.rest else " "
        lines.append(f"{mark} {output.name:<{width}}  {value}")
    return lines


def _arranged(desk: Desk, width: int) -> list[str]:
    """Lay inputs, regions and outputs out in as many columns as fit, whatever may come to stand."""
    inputs, regions, outputs = _inputs(desk), _regions(desk), _outputs(desk)
    widest = [
        max(most, *map(len, column))
        for most, column in zip(_most(desk.model), (inputs, regions, outputs), strict=True)
    ]
    under = max(widest[1:])
    if sum(widest) + 2 * len(GAP) <= width:
        return _side_by_side([inputs, regions, outputs])
    if widest[0] + len(GAP) + under <= width:
        return _side_by_side([inputs, [*regions, "", *outputs]])
    return [*inputs, "", *regions, "", *outputs]


def _most(model: Model) -> tuple[int, int, int]:
    """Tell how wide each column can become, so that none jumps while the prop plays."""
    inputs = max((2 * max(map(len, each.values)) for each in model.inputs), default=0)
    states = [state.name for region in model.regions for state in region.states]
    values = [value for each in model.outputs for value in each.values]
    names = (model.inputs, model.regions, model.outputs)
    named = [max((len(each.name) for each in group), default=0) for group in names]
    return (
        named[0] + inputs + len("1   (counts as )"),
        named[1] + max(map(len, states), default=0) + len(">     999.99 s"),
        named[2] + max(map(len, values), default=0) + len("!   "),
    )


def _side_by_side(columns: Sequence[list[str]]) -> list[str]:
    widths = [max(map(len, column)) for column in columns]
    return [
        GAP.join(f"{cell:<{width}}" for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in zip_longest(*columns, fillvalue="")
    ]


def _story(desk: Desk, width: int, room: int) -> list[str]:
    """Tell the last changes before the moment shown, as many as there is room for."""
    views = desk.views()
    told: list[str] = []
    for view in reversed(views[-LOOKED_BACK:]):
        if len(told) >= room:
            break
        if view.loop == 0 or has_changed(views[view.loop - 1], view):
            for line in _told(desk, views, view):
                told += _wrapped(line, width)[::-1]
    return told[: max(room, 0)][::-1]


def _wrapped(line: str, width: int) -> list[str]:
    """Break a line that is too long; what goes over is indented."""
    if len(line) < width:
        return [line]
    return wrap(line, width - 1, subsequent_indent=INDENT, break_on_hyphens=False)


def _told(desk: Desk, views: tuple[LoopView, ...], view: LoopView) -> Iterator[str]:
    line = tell_loop(desk.model, Run(()), views, view)
    words = GAP.join(part for part in (line.happened, line.moved, line.drives) if part)
    if words:
        yield f"{clock(desk.model, view.loop)} s  {words}"


def _keys(width: int) -> list[str]:
    """Lay out what the keys do, in as many lines as that takes."""
    lines = ["the sign before an input moves it"]
    for key, does in KEYS:
        words = f"{key}: {does}"
        if len(lines[-1]) + len(GAP) + len(words) < width:
            lines[-1] += GAP + words
        else:
            lines.append(words)
    return lines
