"""A recording from the bench as lanes: what was seen, and dotted what the behaviour has instead."""

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from behaviour.bench.capture import Capture, Signal, Sort, Stretch
from behaviour.bench.comparing import Comparison
from behaviour.draw.shapes import Picture
from behaviour.draw.timing import lanes as drawn
from behaviour.draw.timing.chart import Scale, chart
from behaviour.model import Input, Micros, Model, Output
from behaviour.wording import duration, times

TICKS: tuple[Micros, ...] = (1_000, 2_000, 5_000, 10_000, 20_000, 50_000, 100_000)
"""What is closer than a tick is drawn at one moment."""
MOST_TICKS = 600
"""Where there were more, a coarser tick is taken, if it is no longer than a loop."""
LAST = 4.0
"""Points of the last moment, which is no loop and has nothing to show."""
BEFORE, AFTER = 9, 4
"""How many changes are drawn before and after the first difference."""
ROUND = 10
"""A chart begins so many ticks or a multiple after the recording does, for round times below."""
APART: Micros = 5_000
"""Changes closer than this count as one of them."""
SORTS = {
    Sort.INPUT: drawn.Sort.INPUT,
    Sort.REGION: drawn.Sort.STATE,
    Sort.COUNTER: drawn.Sort.COUNTER,
    Sort.OUTPUT: drawn.Sort.OUTPUT,
}


def recorded_chart(model: Model, capture: Capture, title: str) -> Picture:
    """Draw all of a recording."""
    scale = Scale(_tick(model, capture, capture.ends - capture.begins), capture.begins, LAST)
    return chart(model, _lanes(model, capture, scale, capture.ends, {}, ()), title, (), scale)


def difference_chart(model: Model, comparison: Comparison, title: str) -> Picture:
    """Draw a recording around its first difference; all of it where there is none."""
    capture, wrong = comparison.capture, comparison.followed.mismatches
    if not wrong:
        return recorded_chart(model, capture, title)
    at = min(each.at for each in wrong)
    begins, ends = _around(capture, at)
    tick = _tick(model, capture, ends - begins)
    begins -= (begins - capture.begins) % (ROUND * tick)
    scale = Scale(tick, begins, LAST)
    expected = {(each.sort, each.name): Stretch(each.at, each.expected) for each in wrong}
    words = f"{', '.join(f'{each.name} {each.expected}' for each in wrong)} expected"
    marks = (drawn.Mark(_at(scale, at), words, is_breach=True),)
    return chart(model, _lanes(model, capture, scale, ends, expected, marks), title, (), scale)


def _tick(model: Model, capture: Capture, lasts: Micros) -> Micros:
    """Choose how fine a chart is: by loops for a trace, else as fine as can be read."""
    if capture.counted:
        return model.loop
    fit = [tick for tick in TICKS if tick <= model.loop] or [model.loop]
    return next((tick for tick in fit if lasts <= tick * MOST_TICKS), fit[-1])


def _around(capture: Capture, at: Micros) -> tuple[Micros, Micros]:
    """Give from when to when a few changes lie before and after a moment."""
    every = sorted({each.at for signal in capture.signals for each in signal.stretches})
    changes = every[:1] + [two for one, two in pairwise(every) if two - one > APART]
    before = [each for each in changes if each < at][-BEFORE:]
    after = [each for each in changes if each > at][:AFTER]
    begins = before[0] if len(before) == BEFORE else capture.begins
    ends = after[-1] + (after[-1] - at) // 8 if len(after) == AFTER else capture.ends
    return max(begins, capture.begins), max(ends, at + 1)


def _lanes(
    model: Model,
    capture: Capture,
    scale: Scale,
    ends: Micros,
    expected: dict[tuple[Sort, str], Stretch],
    marks: tuple[drawn.Mark, ...],
) -> drawn.Lanes:
    ticks = max(-(-(ends - scale.begins) // scale.tick), 1) + 1
    every = (_lane(model, each, scale, ticks, expected) for each in capture.signals)
    lanes = tuple(lane for lane in every if lane.stretches)
    return drawn.Lanes(
        loops=ticks,
        lanes=tuple(lane for lane in lanes if not lane.is_still),
        still=tuple(lane for lane in lanes if lane.is_still),
        marks=marks,
        dotted="what the behaviour has where the recording first differs",
        remarks=tuple(_not_drawn(capture, scale)),
    )


def _not_drawn(capture: Capture, scale: Scale) -> Iterator[str]:
    """Tell of what is too short to be drawn, such as bounce."""
    for signal in capture.signals:
        pairs = pairwise(signal.stretches)
        hidden = sum(_at(scale, one.at) == _at(scale, after.at) for one, after in pairs)
        if hidden:
            yield (
                f"Not drawn of {signal.name}: {times(hidden)} it was otherwise for less than "
                f"{duration(scale.tick)}."
            )


def _at(scale: Scale, at: Micros) -> int:
    return (at - scale.begins) // scale.tick


def _lane(
    model: Model,
    signal: Signal,
    scale: Scale,
    ticks: int,
    expected: dict[tuple[Sort, str], Stretch],
) -> drawn.Lane:
    stretches = tuple(_in_ticks(signal.stretches, scale, ticks))
    other = stretches
    wrong = expected.get((signal.sort, signal.name))
    if wrong is not None:
        at = _at(scale, wrong.at)
        kept = [each for each in signal.stretches if each.at < wrong.at]
        other = tuple(_in_ticks([*kept, wrong], scale, max(at + 1, ticks)))
    item = _item(model, signal)
    return drawn.Lane(
        signal.name,
        SORTS[signal.sort],
        stretches,
        levels=None if item is None else _levels(item, stretches),
        other=other,
        rest=item.rest if isinstance(item, Output) and item.hazard else None,
    )


def _item(model: Model, signal: Signal) -> Input | Output | None:
    if signal.sort is Sort.INPUT:
        return model.input[signal.name]
    return model.output[signal.name] if signal.sort is Sort.OUTPUT else None


def _levels(item: Input | Output, stretches: Sequence[drawn.Stretch]) -> tuple[str, str] | None:
    """Give the two values of what has two, unless something else was seen of it."""
    if any(each.value not in item.values for each in stretches):
        return None
    return drawn.levels(item.values, item.safe if isinstance(item, Input) else item.rest)


def _in_ticks(stretches: Iterable[Stretch], scale: Scale, ticks: int) -> Iterator[drawn.Stretch]:
    """Put stretches on the ticks of a chart; what is over within one is not drawn."""
    shown = [(max(_at(scale, each.at), 0), each.value) for each in stretches]
    ends = [first for first, _ in shown[1:]] + [ticks]
    for (first, value), end in zip(shown, ends, strict=True):
        if first < min(end, ticks):
            yield drawn.Stretch(value, first, min(end, ticks))
