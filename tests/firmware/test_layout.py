"""Conditions, names and lines of C on their own."""

import pytest

from codegen.cwriter import CWriter, fold
from codegen.expressions import (
    ALWAYS,
    NEVER,
    All,
    Either,
    Subject,
    Term,
    all_of,
    any_of,
    laid_out,
    negated,
    outside,
    within,
    written,
)
from codegen.names import Names, identifier_from, is_identifier, is_pin

COUNT = Subject("n", 0, 6)


def above(number: int) -> Term:
    return Term(f"n > {number}", subject=COUNT, holds=((number + 1, 6),))


def below(number: int) -> Term:
    return Term(f"n < {number}", subject=COUNT, holds=((0, number - 1),))


CALL = Term("f(x)", bare=True)


def test_what_can_never_meet_is_never() -> None:
    assert all_of([above(3), CALL, below(3)]) == NEVER
    assert all_of([above(3), below(5)]) == All((above(3), below(5)))
    assert all_of([CALL, NEVER]) == NEVER


def test_what_leaves_nothing_out_is_always() -> None:
    assert any_of([above(2), below(3), CALL]) == ALWAYS
    assert any_of([above(3), below(3)]) == Either((above(3), below(3)))
    assert any_of([]) == NEVER
    assert all_of([]) == ALWAYS


def test_groups_of_one_kind_are_made_one_and_doubles_dropped() -> None:
    assert all_of([CALL, All((above(1), CALL))]) == All((CALL, above(1)))
    assert all_of([CALL, ALWAYS]) == CALL
    assert negated(negated(CALL)) == CALL
    assert written(negated(all_of([CALL, above(1)]))) == "!f(x) || (n <= 1)"
    assert any_of([negated(all_of([CALL, above(3)])), negated(below(3))]) == ALWAYS
    assert negated(ALWAYS) == NEVER


def test_brackets_stand_where_c_wants_them() -> None:
    both = all_of([above(1), any_of([CALL, negated(below(5))])])
    assert written(both) == "(n > 1) && (f(x) || (n >= 5))"
    assert laid_out(both, 80, 80) == ["(n > 1) && (f(x) || (n >= 5))"]
    assert laid_out(both, 10, 60) == ["(n > 1)", "&& (f(x) || (n >= 5))"]
    assert laid_out(both, 10, 12) == ["(n > 1)", "&& (f(x)", "    || (n >= 5))"]


def test_ranges_meet_and_complete_each_other() -> None:
    assert within(((0, 2), (4, 6)), ((2, 4),)) == ((2, 2), (4, 4))
    assert outside(((1, 1), (4, 5)), 0, 6) == ((0, 0), (2, 3), (6, 6))
    assert outside(((0, 6),), 0, 6) == ()


def test_a_name_is_given_out_once() -> None:
    names = Names({"P_STEP"})
    assert [names.take("P_LID_OPEN") for _ in range(3)] == [
        "P_LID_OPEN",
        "P_LID_OPEN_2",
        "P_LID_OPEN_3",
    ]
    assert names.take("P_TURN_AFTER", "_MS") == "P_TURN_AFTER_MS"
    assert names.take("P_TURN_AFTER", "_MS") == "P_TURN_AFTER_2_MS"
    assert names.take("P_STEP") == "P_STEP_2"
    assert names.take("register") == "register_2"


def test_identifiers_and_pins_are_what_c_takes() -> None:
    assert is_identifier("lid_1")
    assert not any(map(is_identifier, ("", "1lid", "_lid", "lid-1", "tür", "while", "class")))
    assert is_pin("13")
    assert is_pin("GP15")
    assert not any(map(is_pin, ("", "-1", "3;", "A 0", "1x")))
    assert identifier_from("Fog cannon (2)") == "Fog_cannon_2"
    assert identifier_from("class") == "prop_class"


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        ("short(a, b);", ["short(a, b);"]),
        ("call(first_argument, second_argument);", ["call(first_argument,", "second_argument);"]),
        ("value = (left == right) ? one : other;", ["value = (left == right)", "? one : other;"]),
        (
            "const enum some_long_kind raw = read_it();",
            ["const enum some_long_kind raw =", "read_it();"],
        ),
    ],
)
def test_long_code_is_broken_where_a_reader_would(text: str, lines: list[str]) -> None:
    assert fold(text, 32) == lines


def test_a_comment_that_is_too_long_becomes_a_block() -> None:
    out = CWriter()
    out.comment("short")
    out.comment("word " * 30, "", "last")
    assert out.text().splitlines() == [
        "/* short */",
        "/*",
        " * " + " ".join(["word"] * 15),
        " * " + " ".join(["word"] * 15),
        " *",
        " * last",
        " */",
    ]
