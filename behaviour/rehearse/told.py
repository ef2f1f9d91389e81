"""Stories read back from the JSON of a check. It knows their form, and nothing of what they mean.

Whatever a file holds, reading it gives stories or one clear sentence; it is not trusted.
"""

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from behaviour.findings import Run, Stimulus
from behaviour.model import Model

MOST_LOOPS = 1_000_000
"""No story that is told is longer; it keeps a hostile file from filling the memory."""


class StoryFormError(Exception):
    """A file holds no story that can be played; the message says what is wrong."""


@dataclass(frozen=True, slots=True)
class ToldStory:
    """A story as it was told: of which finding, and each of its steps by loop."""

    finding: str
    rule: str | None
    steps: Mapping[int, Mapping[str, object]]
    breach: int | None
    repeats_from: int | None
    last: int

    @property
    def name(self) -> str:
        return self.rule or self.finding


def read_stories(text: str) -> tuple[ToldStory, ...]:
    """Find every story in what `check --as json` printed, or in a part of it that holds one.

    Raises StoryFormError where there is none.
    """
    data = _data(text)
    stories = tuple(_stories(data))
    if not stories:
        raise StoryFormError("there is no story in it: `check --as json` prints them")
    return stories


def prints_of(text: str) -> frozenset[str]:
    """Give the fingerprint of every file that the stories are of, as far as they say it."""
    data = _data(text)
    files = data if isinstance(data, list) else [data]
    prints = (each.get("fingerprint") for each in files if isinstance(each, dict))
    return frozenset(each for each in prints if isinstance(each, str))


def _data(text: str) -> object:
    try:
        data: object = json.loads(text)
    except json.JSONDecodeError as problem:
        at = f"line {problem.lineno}, column {problem.colno}"
        raise StoryFormError(f"it is not JSON, at {at}") from problem
    except (ValueError, RecursionError) as problem:
        raise StoryFormError("it is not JSON that can be read") from problem
    return data


def run_of(model: Model, story: ToldStory) -> Run:
    """Make the run that a story tells. Raises StoryFormError where it is of another prop."""
    inputs = [item.name for item in model.inputs]
    places = {
        mechanism.name: {state.name: state.number for state in mechanism.states}
        for mechanism in model.mechanism
    }
    stimuli: list[Stimulus] = []
    for loop in range(story.last + 1):
        step = story.steps.get(loop)
        if step is None:
            last = stimuli[-1]
            stimuli.append(Stimulus(last.raw, last.mechanism, stalled=last.stalled))
            continue
        raw = _words(step, "raw")
        stands = _words(step, "mechanism")
        if raw.keys() != set(inputs) or stands.keys() != places.keys():
            raise StoryFormError("it is a story of another prop: its inputs or mechanism differ")
        for name, value in raw.items():
            if value not in model.input[name].values:
                raise StoryFormError(f"`{name}` has no value `{value}` in this file")
        for name, state in stands.items():
            if state not in places[name]:
                raise StoryFormError(f"`{name}` has no state `{state}` in this file")
        stimuli.append(
            Stimulus(
                tuple(raw[name] for name in inputs),
                tuple(numbers[stands[name]] for name, numbers in places.items()),
                _draws(step),
                _stalled(model, step),
            )
        )
    return Run(tuple(stimuli), story.breach, story.repeats_from)


def _stories(data: object, finding: str = "", rule: str | None = None) -> Iterator[ToldStory]:
    if isinstance(data, list):
        for part in data:
            yield from _stories(part, finding, rule)
    if not isinstance(data, dict):
        return
    yield from _stories(data.get("findings"))
    if "story" in data:
        name, told_rule = data.get("name"), data.get("rule")
        finding = name if isinstance(name, str) else ""
        yield from _stories(
            data["story"], finding, told_rule if isinstance(told_rule, str) else None
        )
    if isinstance(data.get("steps"), list):
        yield _story(data, data["steps"], finding or "story", rule)


def _story(
    data: Mapping[str, object], steps: list[object], finding: str, rule: str | None
) -> ToldStory:
    by_loop: dict[int, Mapping[str, object]] = {}
    for step in steps:
        if not isinstance(step, dict) or not _is_loop(step.get("loop")):
            raise StoryFormError("a step of the story has no `loop`")
        by_loop[step["loop"]] = step
    if list(by_loop) != sorted(by_loop) or 0 not in by_loop:
        raise StoryFormError("the steps of the story do not go from loop 0 upwards")
    breach, repeats_from = _loop(data, "breach_loop"), _loop(data, "repeats_from")
    last = max(by_loop) if breach is None else breach
    if repeats_from is not None:
        last = max(last, _loop(data, "last_loop") or 0)
    if last < max(by_loop):
        raise StoryFormError("the story goes on after the loop in which it says that it ends")
    return ToldStory(finding, rule, by_loop, breach, repeats_from, last)


def _loop(data: Mapping[str, object], key: str) -> int | None:
    value = data.get(key)
    if value is None:
        return None
    if not isinstance(value, int) or not _is_loop(value):
        raise StoryFormError(f"`{key}` is not the number of a loop")
    return value


def _is_loop(value: object) -> bool:
    return type(value) is int and 0 <= value < MOST_LOOPS


def _words(step: Mapping[str, object], key: str) -> dict[str, str]:
    words = step.get(key)
    if not isinstance(words, dict) or not all(isinstance(word, str) for word in words.values()):
        raise StoryFormError(f"a step of the story has no `{key}`")
    return words


def _stalled(model: Model, step: Mapping[str, object]) -> tuple[int, int] | None:
    match step.get("stalled"):
        case None:
            return None
        case {"mechanism": str(name), "movement": int(number)} if name in model.mechanisms:
            movements = model.mechanisms[name].movements()
            if any(each.number == number for each in movements):
                return model.mechanism_index[name], number
    raise StoryFormError(
        "a step of the story has a `stalled` movement that this file does not have"
    )


def _draws(step: Mapping[str, object]) -> tuple[tuple[tuple[str, int], int], ...]:
    found = []
    draws = step.get("draws", [])
    for draw in draws if isinstance(draws, list) else []:
        match draw:
            case {"region": str(region), "transition": int(number), "loops": int(loops)}:
                found.append(((region, number), loops))
            case _:
                raise StoryFormError("a step of the story has `draws` that cannot be read")
    return tuple(found)
