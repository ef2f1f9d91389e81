"""What the patterns are, what each asks, and a pattern with its answers put in.

It knows nothing of terminals and files. A pattern is a behaviour file with `$word` in the place of
an answer; a time `$word` has `$word_half`, `$word_more` and `$word_twice` beside it.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from string import Template
from typing import Literal

from behaviour.language.load import read_model
from behaviour.language.names import wrong_name
from behaviour.model import Micros
from behaviour.source import Source
from behaviour.units import MICROS, TIME_FORM, Unreadable, read_time
from behaviour.wording import duration

Sort = Literal["name", "time", "text"]

SHORTEST, LONGEST, FINEST = 500 * MICROS["ms"], MICROS["min"], 20 * MICROS["ms"]
"""What a time of a pattern may be; its rules have room for that, and its half is whole loops."""

_MORE = 500 * MICROS["ms"]


class WrongAnswerError(Exception):
    """An answer does not fit; the message says why, as half a sentence."""


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked, and the answer where none is given."""

    word: str
    asks: str
    usual: str
    sort: Sort = "name"


@dataclass(frozen=True, slots=True)
class Pattern:
    """A first file to change. `name` is also that of its file in `patterns/`."""

    name: str
    about: str
    questions: tuple[Question, ...]


def _title(usual: str) -> Question:
    return Question("prop", "what is the prop called?", usual, "text")


_START = Question("start", "what is the button called that starts it?", "trigger")

PATTERNS = (
    Pattern(
        "motor_and_lid",
        "one motor behind a lid, which runs to its mark at a press",
        (
            _title("Motor and lid"),
            Question("motor", "what does the motor turn?", "drum"),
            Question("lid", "what opens to where it moves?", "lid"),
            _START,
            Question("longest", "how long does one run take at most?", "2 s", "time"),
        ),
    ),
    Pattern(
        "cues",
        "a scene of light, sound and an arm, each at its time",
        (
            _title("Scene with cues"),
            Question("arm", "what does the servo move?", "arm"),
            _START,
            Question("pause", "how long does it rest after a scene?", "2 s", "time"),
        ),
    ),
    Pattern(
        "hold_to_run",
        "a drive that moves only while a button is held, with a switch at either end",
        (
            _title("Hold to run"),
            Question("motor", "what does the motor move?", "platform"),
            Question("out", "what is the button called that moves it out?", "out"),
            Question("back", "what is the button called that moves it back?", "back"),
            Question("longest", "how long does it take from end to end at most?", "6 s", "time"),
        ),
    ),
    Pattern(
        "two_that_wait",
        "two that wait for each other: a door, and a figure behind it",
        (
            _title("Two that wait"),
            Question("door", "what opens first?", "door"),
            Question("figure", "what comes out then?", "figure"),
            _START,
            Question("longest", "how long does opening take at most?", "3 s", "time"),
            Question("pause", "how long does it stay outside?", "4 s", "time"),
        ),
    ),
)


def answered(question: Question, answer: str) -> str:
    """Give an answer as it is put into a file. Raises WrongAnswerError where it does not fit."""
    text = answer.strip() or question.usual
    match question.sort:
        case "name":
            wrong = wrong_name(text)
            if wrong is not None:
                raise WrongAnswerError(f"{wrong.why}: {wrong.hint}")
        case "time":
            _time(text)
        case "text":
            if not text.isprintable():
                raise WrongAnswerError("it has signs that cannot be printed")
    return text


def filled(pattern: Pattern, answers: Mapping[str, str]) -> str:
    """Put answers into a pattern, the usual where none is given; what comes out can be read.

    Raises WrongAnswerError where one does not fit, or two answers are one name.
    """
    words: dict[str, str] = {}
    for question in pattern.questions:
        answer = answered(question, answers.get(question.word, ""))
        match question.sort:
            case "time":
                words |= _times(question.word, answer)
            case "text":
                words[question.word] = _quoted(answer)
            case "name":
                words[question.word] = answer
    text = Template(_text(pattern.name)).substitute(words)
    _, mistakes = read_model(Source(pattern.name, text))
    if mistakes:
        raise WrongAnswerError(f"the answers do not go together: {mistakes[0].message}")
    return text


def _time(text: str) -> Micros:
    time = read_time(text)
    if isinstance(time, Unreadable):
        raise WrongAnswerError(f"{time.why}: {time.hint or TIME_FORM}")
    if not SHORTEST <= time <= LONGEST or time % FINEST:
        raise WrongAnswerError(f"`{text}` does not suit: from 500 ms to 1 min, in whole 20 ms")
    return time


@cache
def _text(name: str) -> str:
    return files("behaviour.start").joinpath("patterns", f"{name}.yaml").read_text("utf-8")


def _times(word: str, answer: str) -> dict[str, str]:
    time = _time(answer)
    also = {"half": time // 2, "more": time + _MORE, "twice": 2 * (time + _MORE) + 5 * MICROS["s"]}
    written = {f"{word}_{name}": duration(micros) for name, micros in also.items()}
    return {word: answer, **written}


def _quoted(text: str) -> str:
    """Write a text so that YAML takes it as one."""
    inner = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{inner}"'
