"""Which part of the prop each channel of a recording is, and what its levels stand for.

A channel is known by its name: that of an input, region, counter or output, or `lamp.green` for a
line that is high while the lamp is green. Any other name can be mapped by hand. What no single
level tells, such as a line that is dimmed or a stepper's pulses, is left aside.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace

from behaviour.bench.capture import Capture, CaptureError, Channel, Recording, Signal, Sort
from behaviour.bench.lines import Part, is_known, is_told, signals_of, stretches_of, values_of
from behaviour.model import Input, Model, Output, Region
from behaviour.suggest import nearest

NOT_LOOKED_AT = ("counted", "set", "mechanism", "story")
"""Groups of our own waveforms that say again what others say, or that no wire carries."""

MAP_FORM = "write `CHANNEL=NAME`, or `CHANNEL=lamp.green` for a line that is high while it is green"
_MAP = re.compile(r"(.+?)=(!?)([A-Za-z]\w*)(?:\.([A-Za-z]\w*(?:@\w+)?))?")


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
        if part is None or (
            part.sort is Sort.OUTPUT and not is_told(model.output[part.name], channel)
        ):
            unused.append(channel.name)
        elif is_known(channel):
            by_part.setdefault((part.sort, part.name), []).append((part, channel))
    signals = tuple(
        Signal(sort, name, stretches_of(model, sort, name, by_part[sort, name]))
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


# --- By name ------------------------------------------------------------------------------------


def _is_called(channel: Channel, name: str) -> bool:
    return name in (channel.name, channel.name.rpartition(".")[2])


def _is_told(model: Model, part: Part, channel: Channel) -> bool:
    return part.sort is not Sort.OUTPUT or is_told(model.output[part.name], channel)


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
    values = (*values_of(model, sort, name), *signals_of(model, sort, name))
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
