"""Where a mistake is shown: sign by sign, also in texts that are folded, quoted or escaped."""

import re

import pytest

from behaviour.language.load import read_model
from behaviour.language.nodes import Places
from behaviour.source import Source, Span

HEAD = """\
language: 1
prop: Places
loop: 10 ms
inputs: {lid: {kind: switch, values: [closed, open]}}
regions:
  main:
    begins: idle
    states:
      idle:
        leave:
          - go: idle
"""


def shown(body: str) -> tuple[Span, Span]:
    """Give where the one mistake is shown, and where `<...>` in the body says it should be."""
    marked = HEAD + body
    found = re.search(r"<(\w+)>", marked)
    assert found is not None
    text = marked[: found.start()] + found[1] + marked[found.end() :]
    _, mistakes = read_model(Source("places.yaml", text))
    assert len(mistakes) == 1
    start = found.start()
    line = text.count("\n", 0, start) + 1
    column = start - text.rfind("\n", 0, start)
    return mistakes[0].at.span, Span(line, column, line, column + len(found[1]))


@pytest.mark.parametrize(
    "body",
    [
        "            when: lid is <opne>\n",
        "            when: lid is open and\n              lid is <opne>\n",
        "            when: lid is open and\n\n              lid is <opne>\n",
        '            when: "lid is <opne>"\n',
        "            when: 'lid is <opne>'\n",
        '            when: "lid is open and\n              lid is <opne>"\n',
        '            when: "lid\\x20is\\x20open and lid is <opne>"\n',
        '            when: "lid is open \\\n              and lid is <opne>"\n',
        "            when: |\n              lid is open\n              and lid is <opne>\n",
        "            when: |\n              lid is open\n                and lid is <opne>\n",
        "            when: >-\n              lid is open and\n              lid is <opne>\n",
        "            when: >\n\n              lid is open\n\n              and lid is <opne>\n",
        "            when: &again lid is <opne>\n",
        "            when: not (lid is open or lid is <opne>)\n",
        "            # größer als ein Byte: äöü 🎪\n            when: lid is <opne>  # ü\n",
    ],
)
def test_a_wrong_value_is_marked_where_it_stands(body: str) -> None:
    found, expected = shown(body)

    assert found == expected


@pytest.mark.parametrize(
    ("line_end", "before"), [("\n", ""), ("\r\n", ""), ("\r", ""), ("\n", "\ufeff")]
)
def test_line_ends_and_a_byte_order_mark_move_no_place(line_end: str, before: str) -> None:
    text = before + (HEAD + "            when: lid is opne\n").replace("\n", line_end)

    _, mistakes = read_model(Source("places.yaml", text))

    assert [mistake.at.span for mistake in mistakes] == [Span(12, 26, 12, 30)]


def test_a_quote_inside_single_quotes_counts_as_two_signs() -> None:
    _, mistakes = read_model(Source("x", HEAD + "            when: 'lid is ''open'''\n"))

    assert mistakes[0].at.span == Span(12, 27, 12, 28)


def test_a_place_is_never_empty_and_never_behind_the_last_sign() -> None:
    places = Places("one\ntwo\n\n")

    assert places.span(0, 0) == Span(1, 1, 1, 2)
    assert places.span(4, 7) == Span(2, 1, 2, 4)
    assert places.span(8, 9) == Span(2, 3, 2, 4)
    assert places.span(0, 7) == Span(1, 1, 2, 4)


def test_one_wrong_name_is_told_once_with_the_other_places_that_use_it() -> None:
    ways = "".join(f"          - {{when: lidd is open, go: idle}}  # {n}\n" for n in range(6))
    _, mistakes = read_model(Source("x", HEAD.replace("          - go: idle\n", ways)))

    assert [mistake.message for mistake in mistakes] == ["`lidd` is not the name of an input"]
    assert mistakes[0].at.span.line == 11
    assert [(label.span.line, label.text) for label in mistakes[0].related] == [
        (12, "and here"),
        (13, "and here"),
        (14, "and here, and at 2 more"),
    ]
