"""Files that are made to break a reader: too large, too deep, too many, too wild, or no text."""

import random
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from behaviour.language.load import read_model
from behaviour.language.names import as_identifier
from behaviour.source import Source

HEAD = "language: 1\nprop: x\nloop: 10 ms\ninputs: {lid: {kind: switch, values: [a, b]}}\n"
STATES = f"{HEAD}regions:\n  main:\n    begins: s0\n    states:\n"


def messages(text: str) -> list[str]:
    model, mistakes = read_model(Source("x.yaml", text))
    assert (model is None) == bool(mistakes)
    return [mistake.message for mistake in mistakes]


def calls(ask: Callable[[], object]) -> int:
    """Count the calls that an answer takes: what makes it slow on every machine alike."""
    made = 0

    def count(frame: object, event: str, argument: object) -> None:
        del frame, argument
        nonlocal made
        made += event in ("call", "c_call")

    before = sys.getprofile()
    sys.setprofile(count)
    try:
        ask()
    finally:
        sys.setprofile(before)
    return made


def bomb() -> str:
    """Nine lists of nine aliases each: 387 million parts when they are written out."""
    lines = ["a: &a [x, x, x, x, x, x, x, x, x]"]
    for before, name in zip("abcdefgh", "bcdefghi", strict=True):
        lines.append(f"{name}: &{name} [{', '.join([f'*{before}'] * 9)}]")
    return "\n".join(lines)


def test_a_bomb_is_refused_before_it_grows() -> None:
    assert messages(bomb()) == [
        "the file has more than 100,000 parts, with its aliases written out"
    ]
    assert calls(lambda: messages(bomb())) < 200_000


def test_aliases_below_the_bound_are_read() -> None:
    doubled = STATES + "      s0: &s {leave: [{when: lid becomes a, go: s0}]}\n"
    doubled += "".join(f"      t{n}: *s\n" for n in range(1000))

    assert messages(doubled) == []


def test_a_file_may_be_thirty_two_levels_deep_and_no_deeper() -> None:
    def nested(levels: int) -> str:
        return f"prop: {'[' * (levels - 1)}{']' * (levels - 1)}\n"

    too_deep = "this stands more than 32 levels deep"
    assert too_deep not in messages(nested(32))
    assert messages(nested(33)) == [too_deep]


def test_an_alias_counts_with_its_own_depth() -> None:
    deep = "a: &a " + "[" * 20 + "]" * 20 + "\nb: " + "[" * 15 + "*a" + "]" * 15 + "\n"

    assert messages(deep) == ["this stands more than 32 levels deep"]


def test_a_file_over_a_mebibyte_is_refused() -> None:
    largest = "# " + "x" * ((1 << 20) - 2)

    assert messages(largest) == ["the file is empty"]
    assert messages(largest + "x") == [
        "the file has 1,048,577 bytes, and 1,048,576 is the most that is read"
    ]


@pytest.mark.parametrize("text", ["", " \n\n", "\ufeff", "# nothing\n", "---\n"])
def test_an_empty_file_is_told_how_to_begin(text: str) -> None:
    _, mistakes = read_model(Source("x.yaml", text))

    assert [mistake.message for mistake in mistakes] == ["the file is empty"]
    assert "language: 1" in mistakes[0].hint


@pytest.mark.parametrize(
    ("sign", "name"), [("\0", "U+0000"), ("\x07", "U+0007"), ("\ud800", "U+D800")]
)
def test_a_sign_that_cannot_be_seen_is_named(sign: str, name: str) -> None:
    _, mistakes = read_model(Source("x.yaml", f"language: 1\nprop: x{sign}\n"))

    assert [mistake.message for mistake in mistakes] == [
        f"a sign that cannot be seen stands here ({name})"
    ]
    assert (mistakes[0].at.span.line, mistakes[0].at.span.column) == (2, 8)


@pytest.mark.parametrize("sign", "[{(-?&*!|>'\"%@`,:")
def test_a_file_of_one_sign_a_hundred_thousand_times_is_refused_fast(sign: str) -> None:
    for text in (sign * 100_000, f"{sign} " * 100_000, f"{sign}\n" * 100_000):
        assert messages(text) != []
        assert calls(lambda text=text: messages(text)) < 60 * 100_000  # type: ignore[misc]


def test_brackets_and_long_chains_in_a_condition_have_a_bound() -> None:
    def leaving(condition: str) -> str:
        return f"{STATES}      s0: {{leave: [{{when: {condition}, go: s0}}]}}\n"

    deepest = "(" * 24 + "lid is a" + ")" * 24
    assert messages(leaving(deepest)) == []
    assert messages(leaving(f"({deepest})")) == ["more than 24 brackets stand inside each other"]
    assert messages(leaving(" or ".join(["lid is a"] * 300))) == []
    assert messages(leaving(" or ".join(["lid is a"] * 400))) == [
        "this is 4796 signs long, and 4000 are the most"
    ]


def test_a_file_with_thousands_of_wrong_names_is_read_fast_and_whole() -> None:
    pick = random.Random(7)
    names = ["".join(pick.choices("abcdefghij", k=6)) for _ in range(3000)]
    wrong = "".join(f"      s{n}: {{leave: [{{go: {name}}}]}}\n" for n, name in enumerate(names))

    assert len(messages(STATES + wrong)) == len(set(names))
    assert calls(lambda: messages(STATES + wrong)) < 3_000 * len(names)


def test_the_description_of_the_language_reads_in_a_moment() -> None:

    source = Source("x", (Path(__file__).parent / "carousel.yaml").read_text(encoding="utf-8"))
    model, _ = read_model(source)

    assert model is not None
    assert calls(lambda: read_model(source)) < 60_000


def test_nothing_heavy_is_imported_before_a_file_is_read() -> None:
    asks = (
        "import sys, behaviour.language.load\n"
        "print(sorted({'yaml', 'lark', 'lark.lark'} & set(sys.modules)))"
    )
    run = subprocess.run([sys.executable, "-c", asks], capture_output=True, text=True, check=True)

    assert run.stdout == "[]\n"


@pytest.mark.parametrize(
    ("stem", "name"),
    [
        ("confetti-carousel", "confetti_carousel"),
        ("Fog 2", "Fog_2"),
        ("2nd prop", "prop_2nd_prop"),
        ("switch", "switch_prop"),
        ("Größe", "Grosse"),
        ("épée", "epee"),
        ("霧", "prop"),
        ("", "prop"),
        ("a" * 50, "a" * 40),
    ],
)
def test_the_firmware_is_called_after_the_file(stem: str, name: str) -> None:
    assert as_identifier(stem) == name
