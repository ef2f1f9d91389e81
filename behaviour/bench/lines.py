"""What the levels and words of a part's channels say of it over time.

Several lines of one part are put together: one for each value, or those of a motor's driver.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from behaviour.bench.capture import (
    CaptureError,
    Channel,
    Sort,
    Stretch,
    Told,
    joined,
    without_blinks,
)
from behaviour.model import Micros, Model, Output, Region
from behaviour.suggest import nearest
from behaviour.wording import cue_name, full_name

BLINK: Micros = 1000
"""Lines of one part that change within this time are meant to change at once."""

HIGH = {"1": "1", "h": "1", "high": "1", "true": "1", "0": "0", "l": "0", "low": "0", "false": "0"}
OPEN = ("x", "z", "u", "w", "-", "")
NONE_OF_THEM = "none of them"
SIGNALS = ("enable", "dir")
"""Lines of a motor's driver that are levels: whether it turns, and which way."""


@dataclass(frozen=True, slots=True)
class Part:
    """What a channel is: a part of the prop, or one `value` of it, high (or low) while it is so."""

    sort: Sort
    name: str
    value: str | None = None
    low: bool = False


def values_of(model: Model, sort: Sort, name: str) -> tuple[str, ...]:
    """List what a part can be."""
    match sort:
        case Sort.INPUT:
            return model.input[name].values
        case Sort.OUTPUT:
            return model.output[name].values
        case Sort.REGION:
            return tuple(s.name for s in model.region[name].states if not s.children)
        case Sort.COUNTER:
            return ()


def signals_of(model: Model, sort: Sort, name: str) -> tuple[str, ...]:
    """List the lines of a motor's driver that stand for no value alone."""
    if sort is not Sort.OUTPUT:
        return ()
    pins = [what for what, _ in model.output[name].wiring.pins]
    return () if "step" in pins else tuple(what for what in pins if what in SIGNALS)


def is_told(output: Output, channel: Channel) -> bool:
    """Tell whether a channel's levels say what an output is: not where it is dimmed or pulses.

    In a waveform of our own, whose lines stand for values and not for pins, they always do.
    """
    ours = channel.name.startswith("outputs.")
    if ours or any(told.word.casefold() not in (*HIGH, *OPEN) for told in channel.told):
        return True
    wired = output.wiring
    plain = output.kind != "servo" and wired.fade is None and wired.pulse is None
    return plain and not any(given.unit == "%" for _, given in wired.gives)


def is_known(channel: Channel) -> bool:
    """Tell whether a channel says anything at all, and not only that nothing is known of it."""
    return any(told.word not in OPEN for told in channel.told)


def region_word(region: Region, leaf: int, cue: int) -> str:
    """Name where a region is as the trace has it, such as `shot.open@100ms`."""
    state = region.states[leaf]
    return full_name(region, leaf).removesuffix(state.name) + cue_name(state, cue)


# --- What it says -------------------------------------------------------------------------------


def stretches_of(
    model: Model, sort: Sort, name: str, parts: list[tuple[Part, Channel]]
) -> tuple[Stretch, ...]:
    """Say what a part was from when on. Raises CaptureError."""
    said = [(part.value, channel.name) for part, channel in parts]
    for number, (value, channel_name) in enumerate(said):
        same = [other for what, other in said[:number] if what == value or None in (what, value)]
        if same:
            both = f"`{same[0]}` and `{channel_name}`"
            raise CaptureError(
                f"{both} both say what `{name}` is: map one of them, or leave it out"
            )
    whole = [(part, channel) for part, channel in parts if part.value is None]
    if whole:
        part, channel = whole[0]
        words = _Words(model, sort, name, low=part.low)
        return joined(Stretch(told.at, words.value(told)) for told in _definite(channel))
    if any(part.value in signals_of(model, sort, name) for part, _ in parts):
        return _driven(model.output[name], parts)
    return _together(model, sort, name, parts)


@dataclass(frozen=True)
class _Words:
    """What the words of one channel stand for."""

    model: Model
    sort: Sort
    name: str
    low: bool

    def value(self, told: Told) -> str:
        match self.sort:
            case Sort.COUNTER:
                if not re.fullmatch(r"-?[0-9]+", told.word):
                    raise CaptureError(f"`{told.word}` is no count of `{self.name}`", told.line)
                return told.word
            case Sort.REGION:
                return self._state(told)
            case _:
                return self._of_item(told)

    def _of_item(self, told: Told) -> str:
        values = values_of(self.model, self.sort, self.name)
        for value in values:
            if value.casefold() == told.word.casefold():
                return value
        level = HIGH.get(told.word.casefold())
        if level is None:
            near = nearest(told.word, values, most=1) or values
            there = ", ".join(f"`{value}`" for value in near)
            raise CaptureError(
                f"`{self.name}` has no value `{told.word[:40]}`; there is {there}", told.line
            )
        high = self._high()
        if high is None:
            raise CaptureError(
                f"what a high `{self.name}` stands for does not follow from the file: map it, such "
                f"as `--map {self.name}={self.name}.{values[-1]}`",
                told.line,
            )
        other = next(value for value in values if value != high)
        return high if (level == "1") is not self.low else other

    def _high(self) -> str | None:
        """Give the value of two for which the wire is high, if the file says that."""
        values = values_of(self.model, self.sort, self.name)
        if len(values) != 2:  # noqa: PLR2004
            return None
        if self.sort is Sort.INPUT:
            low = self.model.input[self.name].wiring.low
        else:
            output = self.model.output[self.name]
            on = next(value for value in values if value != output.rest)
            low = output.rest if output.wiring.on_when == "high" else on
        return None if low is None else next(value for value in values if value != low)

    def _state(self, told: Told) -> str:
        region = self.model.region[self.name]
        for state in region.states:
            for cue in range(len(state.cues) + 1):
                full = region_word(region, state.number, cue)
                if told.word in (full, cue_name(state, cue)) and not state.children:
                    return full
        raise CaptureError(f"`{self.name}` has no state `{told.word[:40]}`", told.line)


def _definite(channel: Channel) -> Iterator[Told]:
    """Leave out what a wire was before anything was known of it."""
    known = False
    for told in channel.told:
        if told.word in OPEN:
            if known:
                raise CaptureError(f"`{channel.name}` is `{told.word}` here, not 0 or 1", told.line)
            continue
        known = True
        yield told


def _together(
    model: Model, sort: Sort, name: str, parts: list[tuple[Part, Channel]]
) -> tuple[Stretch, ...]:
    """Put the lines of one part together, each of which stands for one of its values.

    An input keeps its value while none or several of its lines are high: a selector on its way.
    """
    values = values_of(model, sort, name)
    lined = [part.value for part, _ in parts]
    bare = [value for value in values if value not in lined]
    rest = model.output[name].rest if sort is Sort.OUTPUT else None
    otherwise = bare[0] if len(bare) == 1 else rest if rest in bare else NONE_OF_THEM
    events = sorted(
        (told.at, told.line, str(part.value), _is_on(part, channel, told))
        for part, channel in parts
        for told in _definite(channel)
    )
    on = dict.fromkeys(map(str, lined), False)
    found = []
    for at, together in groupby(events, key=lambda event: event[0]):
        on.update({value: is_on for _, _, value, is_on in together})
        now = [value for value, is_on in on.items() if is_on]
        if sort is Sort.INPUT and (len(now) > 1 or (not now and otherwise is NONE_OF_THEM)):
            continue
        found.append(Stretch(at, " + ".join(now) or otherwise))
    if not found:
        raise CaptureError(f"no line of `{name}` is ever high alone")
    if sort is Sort.REGION:
        found = [Stretch(each.at, _full_state(model, name, each.value)) for each in found]
    return without_blinks(joined(found), min(BLINK, model.loop // 4))


def _driven(output: Output, parts: list[tuple[Part, Channel]]) -> tuple[Stretch, ...]:
    """Read the lines of a motor's driver: it rests unless enabled, and `dir` says which way.

    The first value that does not rest is the one for which `dir` is on, unless it turns the other
    way; all lines are on as the file says.
    """
    ways = [value for value in output.values if value != output.rest]
    if len(ways) > 1 and {str(part.value) for part, _ in parts} != set(SIGNALS):
        raise CaptureError(f"`{output.name}` is known by both its `enable` and its `dir`")
    ways = ways if output.wiring.turns == "as wired" or len(ways) == 1 else ways[1::-1]
    low = output.wiring.on_when == "low"
    events = sorted(
        (told.at, told.line, str(part.value), _is_on(part, channel, told) is not low)
        for part, channel in parts
        for told in _definite(channel)
    )
    on = {"enable": False, "dir": True}
    found = []
    for at, together in groupby(events, key=lambda event: event[0]):
        on.update({signal: is_on for _, _, signal, is_on in together})
        way = ways[0] if on["dir"] or len(ways) == 1 else ways[1]
        found.append(Stretch(at, way if on["enable"] else output.rest))
    return without_blinks(joined(found), BLINK)


def _is_on(part: Part, channel: Channel, told: Told) -> bool:
    level = HIGH.get(told.word.casefold())
    if level is None:
        raise CaptureError(f"`{channel.name}` is `{told.word[:40]}` here, not 0 or 1", told.line)
    return (level == "1") is not part.low


def _full_state(model: Model, name: str, word: str) -> str:
    region = model.region[name]
    number = next((state.number for state in region.states if state.name == word), None)
    return word if number is None else full_name(region, number)
