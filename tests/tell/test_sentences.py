"""The sentences say all that a file says: a reader of their forms rebuilds an equal model."""

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given

from behaviour.fingerprint import fingerprint
from behaviour.model import Model, Region, Transition
from behaviour.report.sentences_html import sentences_html
from behaviour.report.sentences_markdown import sentences_markdown
from behaviour.source import Source
from behaviour.tell.sentences import sheet_of
from tests.reading import FAULTY, ROOT, SPECS, model_in, model_of, source_of, spec
from tests.strategies import different_models
from tests.tell.reader import read_page

NEAR_MISSES = sorted((ROOT / "tests" / "corpus" / "near_misses").glob("*.yaml"))


def told(model: Model) -> str:
    return sentences_markdown(Source("x.yaml", ""), model)


def numbered_alike(model: Model) -> Model:
    """Number transitions state by state: an alias in a file makes the order of places another."""

    def renumbered(region: Region) -> Region:
        ways = [*region.interlocks]
        for state in region.states:
            ways += [*state.interlocks, *state.leave, *([state.end] if state.end else [])]
        new = {id(way): replace(way, number=number) for number, way in enumerate(ways)}

        def of(found: tuple[Transition, ...]) -> tuple[Transition, ...]:
            return tuple(new[id(way)] for way in found)

        states = tuple(
            replace(
                state,
                interlocks=of(state.interlocks),
                leave=of(state.leave),
                end=None if state.end is None else new[id(state.end)],
            )
            for state in region.states
        )
        return replace(region, states=states, interlocks=of(region.interlocks))

    return replace(model, regions=tuple(map(renumbered, model.regions)))


@pytest.mark.parametrize("path", NEAR_MISSES, ids=lambda path: path.stem)
def test_an_equal_model_is_rebuilt_of_a_file_that_is_oddly_written(path: Path) -> None:
    model = model_in(Source(path.name, path.read_text(encoding="utf-8")))

    assert numbered_alike(read_page(told(model))) == numbered_alike(model)


@pytest.mark.parametrize("path", [*SPECS, *FAULTY], ids=lambda path: path.stem)
def test_an_equal_model_is_rebuilt_from_what_is_told(path: Path) -> None:
    model = model_in(Source(path.name, path.read_text(encoding="utf-8")))
    rebuilt = read_page(told(model))

    assert rebuilt == model
    assert fingerprint(rebuilt) == fingerprint(model)


@given(model=different_models())
def test_an_equal_model_is_rebuilt_of_a_random_prop(model: Model) -> None:
    assert numbered_alike(read_page(told(model))) == numbered_alike(model)


def test_the_carousel_reads_aloud() -> None:
    page = told(model_in(source_of("specs/confetti-carousel.yaml")))

    for sentence in (
        "To count, the switch `lid` must have read closed for 200 ms or open for 10 ms.",
        (
            "Anywhere in `carousel`, before all else, when the switch `lid` is open, it goes to"
            " `lid_open`."
        ),
        "Otherwise in `idle`, when the button `trigger` becomes pressed, it goes to `empty`.",
        (
            "600 ms into `shot` comes its end, and it takes 1 from the count `loaded` and goes to"
            " `idle`."
        ),
        (
            "While the motor `drum` is not stopped, it takes 250 ms to 400 ms from `between` to"
            " `at_tube`."
        ),
        (
            "“the drum never runs away”: This may last at most 2 s at a stretch: the motor"
            " `drum` is not stopped."
        ),
        (
            "In `jammed`, when the button `trigger` has been pressed for 3 s, but only after 3 s"
            " there, it goes to `idle`."
        ),
    ):
        assert f" {sentence} ____\n" in page


def test_what_is_not_said_is_asked() -> None:
    page = told(model_in(source_of("specs/faulty/carousel-forgot-lid.yaml")))

    assert (
        "In `turn` of `carousel`, what should happen when the switch `lid` becomes closed or open"
        " or when the button `trigger` becomes pressed?"
    ) in page


def test_a_value_that_is_left_open_is_asked_for() -> None:
    model = model_of("""\
        language: 1
        prop: Bell
        loop: 10 ms
        regions: {bell: {begins: a, states: {a: {leave: [{after: unknown, go: b}]}, b: {}}}}
        """)

    assert sheet_of(model).questions == ("What is `a.after`? It is not known yet.",)
    assert "In `a`, after an unknown time (`a.after`), it goes to `b`." in told(model)


def test_free_text_comes_back_whatever_it_holds() -> None:
    text = "a “quoted” word, *stars*, <b>, a_b _c_, a | b \\ and\na second line”"
    model = replace(model_in(source_of("specs/fog-cannon.yaml")), about=text, prop=f"{text}.")

    assert read_page(told(model)) == model


def test_the_page_escapes_what_a_file_says() -> None:
    model = replace(model_in(source_of("specs/fog-cannon.yaml")), about="<script>alert(1)</script>")
    page = sentences_html(Source("x.yaml", ""), model)

    assert "<script" not in page
    assert "“&lt;script&gt;alert(1)&lt;/script&gt;”" in page


def test_a_region_that_never_answers_its_guard_is_asked_about() -> None:
    model = spec("specs/faulty/bubble-tub-looks-once.yaml")

    assert sheet_of(model).questions[0] == (
        "What should happen to `tub` when the switch `lid` becomes open? Nothing there answers it."
    )


def test_a_region_that_follows_another_is_not_asked_about_its_guard() -> None:
    text = (ROOT / "specs/faulty/bubble-tub-looks-once.yaml").read_text(encoding="utf-8")
    text = text.replace(
        "leave: [{after: 6 s, go: waiting}]",
        "leave: [{after: 6 s, go: waiting}, {when: eye in shut, go: waiting}]",
    ).replace("rules:", "  eye: {begins: shut, states: {shut: {}}}\nrules:")
    model = model_of(text)

    assert not any("Nothing there" in each for each in sheet_of(model).questions)
