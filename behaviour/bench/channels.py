"""Which part of the prop each channel of a recording is, and what its levels stand for.

A channel is known by its name: that of an input, region, counter or output, or `lamp.green` for a
line that is high while the lamp is green. Any other name can be mapped by hand.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import groupby

from behaviour.bench.capture import (
    Capture,
    CaptureError,
    Channel,
    Recording,
    Signal,
    Sort,
    Stretch,
    Told,
    joined,
    without_blinks,
)
from behaviour.model import Input, Micros, Model, Output, Region
from behaviour.suggest import nearest
from behaviour.wording import cue_name, full_name

NOT_LOOKED_AT = ("counted", "set", "mechanism", "story")
"""Groups of our own waveforms that say again what others say, or that no wire carries."""

BLINK: Micros = 1000
"""Lines of one part that change within this time are meant to change at once."""

HIGH = {"1": "1", "h": "1", "high": "1", "true": "1", "0": "0", "l": "0", "low": "0", "false": "0"}
OPEN = ("x", "z", "u", "w", "-", "")
NONE_OF_THEM = "none of them"
MAP_FORM = "write `CHANNEL=NAME`, or `CHANNEL=lamp.green` for a line that is high while it is green"
_MAP = re.compile(r"(.+?)=(!?)([A-Za-z]\w*)(?:\.([A-Za-z]\w*(?:@\w+)?))?")


@dataclass(frozen=True, slots=True)
class Part:
    """What a channel is: a part of the prop, or one `value` of it, high (or low) while it is so."""

    sort: Sort
    name: str
    value: str | None = None
    low: bool = False


def mapped(model: Model, texts: Iterable[str]) -> dict[str, Part]:
    """Read mappings as they are written on the command line. Raises CaptureError."""
    found: dict[str, Part] = {}
    for text in texts:
        match = _MAP.fullmatch(text.strip())
        if match is None:
            raise CaptureError(f"`{text}` maps nothing: {MAP_FORM}")
        part = _part(model, [match[3], *([match[4]] if match[4] else [])])
        if part is None:
            near = nearest(match[3], _names(model), most=1)
            hint = f"; there is `{near[0]}`" if near else ""
            what = match[3] if match[4] is None else f"{match[3]}.{match[4]}"
            raise CaptureError(f"`{text}`: the file has no `{what}`{hint}")
        found[match[1].strip()] = replace(part, low=bool(match[2]))
    return found


def capture_of(model: Model, recording: Recording, maps: Mapping[str, Part]) -> Capture:
    """Find the parts of a prop in a recording. Raises CaptureError where it says what cannot be."""
    missing = [name for name in maps if not any(_is_called(c, name) for c in recording.channels)]
    if missing:
        there = ", ".join(f"`{channel.name}`" for channel in recording.channels[:12])
        raise CaptureError(f"there is no channel `{missing[0]}`: there are {there}")
    by_part: dict[tuple[Sort, str], list[tuple[Part, Channel]]] = {}
    unused = []
    for channel in recording.channels:
        by_hand = (part for name, part in maps.items() if _is_called(channel, name))
        part = next(by_hand, None) or _found(model, channel.name)
        if channel.name.split(".")[0] in NOT_LOOKED_AT:
            continue
        if part is None:
            unused.append(channel.name)
        elif channel.told:
            by_part.setdefault((part.sort, part.name), []).append((part, channel))
    signals = tuple(
        Signal(sort, name, _stretches(model, sort, name, by_part[sort, name]))
        for sort in Sort
        for name in _names_of(model, sort)
        if (sort, name) in by_part
    )
    if not signals:
        there = ", ".join(f"`{channel.name}`" for channel in recording.channels[:12])
        raise CaptureError(f"no channel has a name of the file: there are {there}; {MAP_FORM}")
    return Capture(
        signals,
        recording.begins,
        recording.ends,
        recording.fingerprint,
        recording.counted,
        recording.from_power_up,
        recording.line,
        tuple(unused),
    )


def region_word(region: Region, leaf: int, cue: int) -> str:
    """Name where a region is as the trace has it, such as `shot.open@100ms`."""
    state = region.states[leaf]
    return full_name(region, leaf).removesuffix(state.name) + cue_name(state, cue)


# --- By name ------------------------------------------------------------------------------------


def _is_called(channel: Channel, name: str) -> bool:
    return name in (channel.name, channel.name.rpartition(".")[2])


def _found(model: Model, name: str) -> Part | None:
    parts = [part.strip() for part in name.split(".")]
    return _part(model, parts[-2:]) or _part(model, parts[-1:])


def _part(model: Model, words: list[str]) -> Part | None:
    """Find the part of one word, or the value of a part of two."""
    name = next((each for each in _names(model) if each.casefold() == words[0].casefold()), None)
    if name is None:
        return None
    sort = next(sort for sort in Sort if name in _names_of(model, sort))
    if len(words) == 1:
        return Part(sort, name)
    values = _values(model, sort, name)
    value = next((each for each in values if each.casefold() == words[1].casefold()), None)
    return None if value is None else Part(sort, name, value)


def _names(model: Model) -> tuple[str, ...]:
    return tuple(name for sort in Sort for name in _names_of(model, sort))


def _names_of(model: Model, sort: Sort) -> tuple[str, ...]:
    parts: Mapping[Sort, Iterable[Input | Output | Region]] = {
        Sort.INPUT: model.inputs,
        Sort.REGION: model.regions,
        Sort.OUTPUT: model.outputs,
    }
    if sort is Sort.COUNTER:
        return tuple(counter.name for counter in model.counters)
    return tuple(part.name for part in parts[sort])


def _values(model: Model, sort: Sort, name: str) -> tuple[str, ...]:
    match sort:
        case Sort.INPUT:
            return model.input[name].values
        case Sort.OUTPUT:
            return model.output[name].values
        case Sort.REGION:
            return tuple(s.name for s in model.region[name].states if not s.children)
        case Sort.COUNTER:
            return ()


# --- What it says -------------------------------------------------------------------------------


def _stretches(
    model: Model, sort: Sort, name: str, parts: list[tuple[Part, Channel]]
) -> tuple[Stretch, ...]:
    whole = [(part, channel) for part, channel in parts if part.value is None]
    if whole:
        part, channel = whole[0]
        words = _Words(model, sort, name, low=part.low)
        return joined(Stretch(told.at, words.value(told)) for told in _definite(channel))
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
        values = _values(self.model, self.sort, self.name)
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
        values = _values(self.model, self.sort, self.name)
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
    values = _values(model, sort, name)
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


def _is_on(part: Part, channel: Channel, told: Told) -> bool:
    level = HIGH.get(told.word.casefold())
    if level is None:
        raise CaptureError(f"`{channel.name}` is `{told.word[:40]}` here, not 0 or 1", told.line)
    return (level == "1") is not part.low


def _full_state(model: Model, name: str, word: str) -> str:
    region = model.region[name]
    number = next((state.number for state in region.states if state.name == word), None)
    return word if number is None else full_name(region, number)
