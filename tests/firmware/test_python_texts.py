"""Names and texts of a file, made to break out of the Python, never do."""

import ast
import re
from dataclasses import replace
from functools import cache

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from behaviour.fingerprint import fingerprint
from behaviour.model import Model
from codegen.conform.match import match_on_pi
from codegen.conform.runs import Effort, runs_of
from codegen.emit import emit
from codegen.python.source import python_module
from codegen.refusals import CannotEmitError
from tests.firmware.props import NESTED, TIMING
from tests.firmware.test_texts import NASTY, said_everywhere
from tests.making import add, both, button, counter, input_, inside, is_, output, prop, region, way
from tests.making import state as written

FOR_PYTHON = st.lists(
    st.one_of(
        NASTY,
        st.sampled_from(
            [
                *(
                    '"""',
                    "'''",
                    "\\",
                    "\\N{BULLET}",
                    "#",
                    "\n",
                    "\r",
                    "\x0c",
                    "\x1a",
                    "{0}",
                    "{x!r}",
                ),
                *("coding: utf-16", "# -*- coding: latin-1 -*-", "\nimport os\n", "__class__"),
                *("pass", "\n    raise SystemExit\n", "fmt: off", "\N{GREEK QUESTION MARK}"),
            ]
        ),
    ),
    max_size=8,
).map("".join)


def code_of(model: Model, source_name: str) -> str:
    """Give the module as Python reads it, without comments and the fingerprint."""
    text = python_module(replace(model, firmware_name="any"), source_name, "any")
    mark = fingerprint(replace(model, firmware_name="any"))
    return ast.dump(ast.parse(text.encode())).replace(mark, "")


@cache
def plain_code(model: Model) -> str:
    return code_of(model, "any.yaml")


@settings(max_examples=60)
@given(model=st.sampled_from([NESTED, TIMING]), text=FOR_PYTHON, name=FOR_PYTHON)
@example(model=NESTED, text="coding: utf-16", name="coding: utf-16")
def test_no_text_changes_the_code_around_it(model: Model, text: str, name: str) -> None:
    assert code_of(said_everywhere(model, text), f"{name}.yaml") == plain_code(model)


@settings(max_examples=60)
@given(text=FOR_PYTHON)
@example(text='open"; import os')
@example(text="__class__")
def test_a_text_as_a_name_is_refused_or_is_only_a_name(text: str) -> None:
    model = prop(
        region("r", written(text, leave=[way("b")]), written("b", sets={"o": text})),
        inputs=[input_(f"{text}_1", "low", text)],
        outputs=[output("o", "off", text)],
        counters=[counter(f"n_{text}", 0, 3)],
    )
    try:
        code = python_module(model, "any.yaml", "any")
    except CannotEmitError:
        assert re.fullmatch("[A-Za-z][A-Za-z0-9_]*", text) is None
        return
    strings = {node.value for node in ast.walk(ast.parse(code)) if isinstance(node, ast.Constant)}
    assert text in strings


PYTHON_NAMES = prop(
    region(
        "self",
        written("None_", leave=[way("lambda", is_("print", "True_"))]),
        written(
            "lambda",
            written("def_", leave=[way("None_", is_("is_lambda", "go"))]),
            sets={"import": "pass"},
            leave=[way("None_", after=20, do=[add("raise")])],
        ),
    ),
    region(
        "board",
        written("trigger", leave=[way("state", both(inside("self", "lambda"), is_("prop", "on")))]),
        written("state", leave=[way("trigger", after=(10, 40))]),
        interlocks=[way("trigger", is_("in_loops", "a"))],
    ),
    inputs=[
        input_("print", "False_", "True_", steady=10),
        input_("is_lambda", "go", "trigger"),
        input_("prop", "off", "on"),
        input_("in_loops", "b", "a"),
        button("upsets"),
    ],
    outputs=[output("import", "off", "pass", "None"), output("len", "off", "on")],
    counters=[counter("raise", 0, 2), counter("last_ms", 0, 1)],
)
"""Names that mean something in Python, in `transitions`, or in the module itself."""


def test_names_that_mean_something_to_python_mean_what_the_file_means() -> None:
    effort = Effort(calls=1500, most_calls=1500, walks=1)
    report = match_on_pi(PYTHON_NAMES, "odd.yaml", runs_of(PYTHON_NAMES, effort))
    assert report.mismatch is None
    assert report.is_whole


@pytest.mark.parametrize("name", ["random", "gpiozero", "transitions", "lambda", "signal"])
def test_a_module_is_not_called_like_one_that_it_needs(name: str) -> None:
    with pytest.raises(CannotEmitError, match=f"`{name}` has a meaning of its own in Python"):
        emit(replace(NESTED, firmware_name=name), "any.yaml", "pi")
