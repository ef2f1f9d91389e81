"""Whatever stands in a file, reading it gives a model or mistakes, and never an error."""

from pathlib import Path

import yaml
from hypothesis import example, given
from hypothesis import strategies as st

from behaviour.language.load import read_model
from behaviour.model import Model
from behaviour.source import Source

HERE = Path(__file__).parent
CORPUS = HERE.parent / "corpus"
WHOLE = [
    path.read_text(encoding="utf-8")
    for path in [HERE / "carousel.yaml", *sorted((CORPUS / "near_misses").glob("*.yaml"))]
]
BROKEN = [path.read_text(encoding="utf-8") for path in sorted((CORPUS / "mistakes").glob("*.yaml"))]

WORDS = sorted({word for text in WHOLE for word in text.split()})
SIGNS = list("{}[]()<>=!&*|>'\"%@`,:;-?#~ \t\n\r\\\x85\u2028\ufeff\0é🎪0")


def check(text: str) -> None:
    """Read a text; what comes of it is sound."""
    model, mistakes = read_model(Source("any.yaml", text))
    assert (model is None) == bool(mistakes)
    lines = len(text.splitlines()) + 1
    for mistake in mistakes:
        for label in (mistake.at, *mistake.related):
            span = label.span
            assert 1 <= span.line <= span.end_line <= lines
            assert span.column >= 1
            assert (span.end_line, span.end_column) > (span.line, span.column)
    assert list(mistakes) == sorted(mistakes, key=lambda mistake: mistake.at.span)


@given(st.text())
@example("\ud800")
@example("a: [*b")
@example("? : -")
@example("language: 1\nregions: {a: {states: {}}}")
def test_any_text_at_all(text: str) -> None:
    check(text)


@given(st.lists(st.sampled_from([*SIGNS, *WORDS]), max_size=60).map("".join))
def test_any_words_of_the_language_in_any_order(text: str) -> None:
    check(text)


@st.composite
def mangled(draw: st.DrawFn) -> str:
    """A file in which a few stretches are taken out, doubled, exchanged, or overwritten."""
    text = draw(st.sampled_from(WHOLE + BROKEN))
    for _ in range(draw(st.integers(1, 4))):
        start = draw(st.integers(0, len(text)))
        end = min(len(text), start + draw(st.integers(0, 40)))
        stretch = text[start:end]
        put = draw(
            st.one_of(
                st.sampled_from(["", stretch * 2, *SIGNS]),
                st.sampled_from(WORDS),
                st.sampled_from(WHOLE).map(lambda other: other[len(other) // 3 :][:60]),
            )
        )
        text = text[:start] + put + text[end:]
    return text


@given(mangled())
def test_any_file_that_somebody_mangled(text: str) -> None:
    check(text)


KEYS = sorted(
    {
        key
        for text in WHOLE
        for key in (
            token.value
            for token in yaml.scan(text, Loader=yaml.SafeLoader)
            if isinstance(token, yaml.ScalarToken)
        )
    }
)
ANY_VALUE = st.recursive(
    st.sampled_from(KEYS),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(KEYS), inner),
    max_leaves=12,
)


@st.composite
def wrongly_filled(draw: st.DrawFn) -> str:
    """A whole file in which some values are of another shape than they should be."""
    data = yaml.load(draw(st.sampled_from(WHOLE)), Loader=yaml.BaseLoader)
    for _ in range(draw(st.integers(1, 3))):
        at = data
        while isinstance(at, dict | list) and at:
            key = draw(st.sampled_from(sorted(at) if isinstance(at, dict) else range(len(at))))
            if draw(st.integers(0, 3)) == 0 or not isinstance(at[key], dict | list):
                at[key] = draw(ANY_VALUE)
                break
            at = at[key]
    return yaml.safe_dump(data, sort_keys=False, allow_unicode=True)


@given(wrongly_filled())
def test_any_part_in_the_place_of_another(text: str) -> None:
    check(text)


def read(text: str) -> Model:
    model, mistakes = read_model(Source("same.yaml", text))
    assert mistakes == ()
    assert model is not None
    return model


@given(st.sampled_from(WHOLE), st.integers(0, 5), st.booleans())
def test_how_a_file_is_laid_out_makes_no_difference(text: str, blank: int, flow: bool) -> None:
    data = yaml.load(text, Loader=yaml.BaseLoader)
    laid_out = "# another layout\n" * blank + yaml.safe_dump(
        data, sort_keys=False, allow_unicode=True, default_flow_style=flow, width=60
    )

    one, other = read(text), read(laid_out)

    assert one == other
    assert hash_of_places(one) != hash_of_places(other)


def hash_of_places(model: Model) -> tuple[object, ...]:
    return tuple(state.span for region in model.regions for state in region.states)
