"""How a board file reads each input: from the file's wiring to what is written of it."""

from behaviour.model import Input, Model
from codegen.lower_wiring import Wiring
from codegen.vocabulary import InputNames, Vocabulary
from codegen.wired import Contact, Counts, Positions, ReadCall, Reading, Yours

TWO = 2
"""Values that one pin can tell apart."""


def reads(model: Model, names: Vocabulary, wiring: Wiring) -> tuple[ReadCall, ...]:
    """Give how each input is read, in the order of the file."""
    return tuple(_read(item, names.inputs[item.name], wiring) for item in model.inputs)


def _read(item: Input, words: InputNames, wiring: Wiring) -> ReadCall:
    return ReadCall(
        word=item.name,
        call=words.board_read,
        type=f"enum {words.tag}",
        values=tuple(words.values[value] for value in item.values),
        presumed=words.values[_presumed(item)],
        how=_how(item, words, wiring),
    )


def _presumed(item: Input) -> str:
    """Give the value to begin with where a pin does not tell: not safe, or the first."""
    return item.values[0] if item.presumed is None else item.presumed


def _how(item: Input, words: InputNames, wiring: Wiring) -> Reading:
    wired = item.wiring
    if wired.pins:
        return _positions(item, words, wiring)
    if wired.pin is None:
        return Yours("it has no pin in the file")
    if wired.levels:
        return _counts(item, words, wiring)
    if wired.low is None or len(item.values) != TWO:
        return Yours("the file does not say which of its values reads low")
    return Contact(
        pin=wiring.macro(item.name, "pin"),
        pull=_pull(item, wiring),
        low=wiring.macro(item.name, "low"),
        values=(words.values[item.values[0]], words.values[item.values[1]]),
        news=_news(item),
    )


def _news(item: Input) -> str:
    """Say what reading a level leaves to the receiver of a line that may fall silent."""
    if item.wiring.silent is None:
        return ""
    return (
        f"The level alone is read: that it is {item.unplugged} once its sender has been silent is "
        "what its receiver must do, or what you write here."
    )


def _pull(item: Input, wiring: Wiring) -> str | None:
    return None if item.wiring.pull is None else wiring.macro(item.name, "pull")


def _positions(item: Input, words: InputNames, wiring: Wiring) -> Reading:
    pull = item.wiring.pull
    if pull not in ("up", "down"):
        return Yours("the file does not say how its pins are pulled")
    wired = [what for what, _ in item.wiring.pins]
    left = [value for value in item.values if value not in wired]
    return Positions(
        pins=tuple(
            (words.values[value], wiring.macro(item.name, f"pin.{value}"))
            for value in sorted(wired, key=lambda value: value == item.safe)
        ),
        pull=wiring.macro(item.name, "pull"),
        reads_low=pull == "up",
        otherwise=words.values[left[0]] if left else None,
        begins=words.values[_presumed(item)],
    )


def _counts(item: Input, words: InputNames, wiring: Wiring) -> Counts:
    sides = {
        level.side: (wiring.macro(item.name, level.side), words.values[level.value])
        for level in item.wiring.levels
    }
    return Counts(
        pin=wiring.macro(item.name, "pin"),
        pull=_pull(item, wiring),
        below=sides["below"],
        above=sides["above"],
        begins=words.values[_presumed(item)],
    )
