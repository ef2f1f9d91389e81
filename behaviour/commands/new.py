"""`new`: a first behaviour file to change, from a pattern and a few answers."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from behaviour.commands.answering import OK, CommandError, put_out
from behaviour.commands.arguments import Arguments, Parser, UsageError
from behaviour.disk import read_text, write_new

if TYPE_CHECKING:
    from behaviour.start.pattern import Pattern

SCHEMA_NAME = "tablework.schema.json"


def run(arguments: Arguments) -> int:
    """Run it with its arguments and give its exit code."""
    parser = Parser(
        "tablework new",
        description="Write a first behaviour file to change. What the options leave open is asked "
        "in the terminal; without one, the usual answers are taken.",
    )
    parser.add_argument("name", metavar="NAME", nargs="?", help="the file; `.yaml` may be left out")
    parser.add_argument("--pattern", metavar="PATTERN", help="the nearest to it, by name or number")
    parser.add_argument("--patterns", action="store_true", help="list them, and what each asks")
    parser.add_argument(
        "--answer",
        metavar="WORD=ANSWER",
        action="append",
        default=[],
        help="answer one question of the pattern, such as `--answer motor=drum`",
    )
    parser.add_argument(
        "--schema", action="store_true", help="print the form of a file as a JSON Schema, no more"
    )
    asked = parser.parse_args(arguments)
    if asked.schema:
        from behaviour.language.schema import schema_text

        put_out(schema_text())
        return OK
    if asked.patterns:
        put_out(_patterns())
        return OK
    if asked.name is None:
        raise UsageError("name the file to write; `tablework new --help` tells more")
    return _write(asked)


def _write(asked: argparse.Namespace) -> int:
    from behaviour.start.pattern import WrongAnswerError, filled

    path = Path(asked.name)
    path = path if path.suffix in (".yaml", ".yml") else path.with_name(f"{path.name}.yaml")
    if path.exists() or path.is_symlink():
        raise CommandError(f"`{path}` is there already, and is not written over")
    pattern, answers = _answers(asked)
    try:
        text = filled(pattern, answers)
    except WrongAnswerError as wrong:
        raise CommandError(str(wrong)) from wrong
    first_line = f"# yaml-language-server: $schema={SCHEMA_NAME}\n"
    write_new(str(path), f"{first_line}{text}".encode())
    put_out(f"written: {path}\n{_schema_beside(path)}")
    put_out(f"change it as you like, and then: tablework check {path}\n")
    return OK


def _schema_beside(path: Path) -> str:
    """Write the schema into the folder of a file, unless one is there, and tell so."""
    from behaviour.language.schema import schema_text

    beside, text = path.with_name(SCHEMA_NAME), schema_text()
    if beside.exists():
        is_same = read_text(str(beside)) == text
        return "" if is_same else f"kept: {beside}, which is of another release\n"
    write_new(str(beside), text.encode())
    return f"written: {beside}, by which an editor helps while you write\n"


def _answers(asked: argparse.Namespace) -> tuple[Pattern, dict[str, str]]:
    """Take what the options say, and ask for the rest where somebody can answer."""
    from behaviour.start.asking import ask_pattern, ask_rest, pattern_named

    is_answered = sys.stdin.isatty() and sys.stdout.isatty()
    if asked.pattern is not None:
        pattern = pattern_named(asked.pattern)
        if pattern is None:
            raise CommandError(f"there is no pattern `{asked.pattern}`: there are {_names()}")
    elif is_answered:
        pattern = ask_pattern(put_out, _hear)
    else:
        raise UsageError(f"say `--pattern`, since nobody can be asked here: there are {_names()}")
    given = _given(pattern, asked.answer)
    return pattern, ask_rest(pattern, given, put_out, _hear) if is_answered else given


def _hear(words: str) -> str:
    try:
        return input(words)
    except EOFError as end:
        put_out("\n")
        raise CommandError("nothing was written, since the questions were not answered") from end


def _given(pattern: Pattern, options: list[str]) -> dict[str, str]:
    """Take `WORD=ANSWER` apart. Each must fit its question."""
    from behaviour.start.pattern import WrongAnswerError, answered

    questions = {question.word: question for question in pattern.questions}
    found = {}
    for option in options:
        word, sign, answer = option.partition("=")
        if not sign or word not in questions:
            words = ", ".join(f"`{each}`" for each in questions)
            raise UsageError(f"`--answer {option}` answers none of the questions: {words}")
        try:
            found[word] = answered(questions[word], answer)
        except WrongAnswerError as wrong:
            raise UsageError(f"`--answer {option}`: {wrong}") from wrong
    return found


def _names() -> str:
    from behaviour.start.pattern import PATTERNS

    return ", ".join(f"`{pattern.name}`" for pattern in PATTERNS)


def _patterns() -> str:
    from behaviour.start.pattern import PATTERNS

    lines = []
    for number, pattern in enumerate(PATTERNS, start=1):
        lines.append(f"{number}  {pattern.name}: {pattern.about}")
        asked = [(f"{each.word}={each.usual}", each.asks) for each in pattern.questions]
        lines += [f"     {answer:24} {asks}" for answer, asks in asked]
    return "\n".join(lines) + "\n"
