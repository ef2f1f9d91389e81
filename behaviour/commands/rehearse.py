"""`rehearse`: a prop played by hand, by a script, by its walkthroughs, or as a check told it."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from behaviour.commands.answering import (
    BROKEN,
    OK,
    UNREADABLE,
    CommandError,
    complain,
    paint_of_terminal,
    put_out,
    readable_file,
    worst,
)
from behaviour.commands.arguments import Arguments, Parser, whole_number
from behaviour.disk import read_text, write_new

if TYPE_CHECKING:
    from behaviour.pipeline import Readable
    from behaviour.rehearse.stage import Moment, Timing

MOVES = ("late", "early", "random")
"""When movements end and which times are drawn, where nobody asks."""

SAVED_NAME = "as rehearsed"


def run(arguments: Arguments) -> int:
    """Run it with its arguments and give its exit code."""
    parser = Parser(
        "tablework rehearse",
        description="Play a prop by hand in the terminal; or by a script, by its walkthroughs, "
        "or by the stories of a check.",
    )
    parser.add_argument("spec", metavar="SPEC", help="a behaviour file")
    what = parser.add_mutually_exclusive_group()
    what.add_argument("--walkthroughs", action="store_true", help="run them all as tests")
    what.add_argument("--walkthrough", metavar="NAME", help="run this one, and tell its story")
    what.add_argument(
        "--coverage", action="store_true", help="what they have shown, and more of them proposed"
    )
    what.add_argument("--script", metavar="FILE", help="steps, one a line; `-` reads them here")
    what.add_argument("--story", metavar="FILE", help="stories from `check --as json`")
    parser.add_argument("--moves", choices=MOVES, help="when movements end if nobody asks; late")
    parser.add_argument(
        "--seed", metavar="N", type=whole_number, default=0, help="for `--moves random`"
    )
    parser.add_argument("--save", metavar="FILE", help="keep what was played as a walkthrough")
    asked = parser.parse_args(arguments)
    if asked.story is not None:
        return rehearse(asked.spec, asked.story)
    readable = readable_file(asked.spec)
    if readable is None:
        return UNREADABLE
    if asked.coverage:
        from behaviour.commands.covering import coverage

        return coverage(readable)
    timing = timing_of(asked.moves or "late", asked.seed)
    if asked.walkthroughs or asked.walkthrough is not None:
        return walkthroughs(readable, asked.walkthrough)
    if asked.script is None and sys.stdin.isatty() and sys.stdout.isatty():
        return by_hand(readable, timing, asked.save)
    return script(readable, asked.script or "-", timing, asked.save)


def timing_of(moves: str, seed: int) -> Timing:
    """Tell when movements end: at the first moment, the last, or any."""
    from behaviour.rehearse.stage import Timing

    return Timing({"late": 1.0, "early": 0.0}.get(moves), seed)


def walkthroughs(readable: Readable, only: str | None) -> int:
    """Run the walkthroughs of a file as tests, or `only` one of them, which is told as well."""
    from behaviour.rehearse.walking import perform
    from behaviour.report.walkthroughs import performance_text
    from behaviour.suggest import nearest

    source, model = readable.source, readable.model
    names = [walkthrough.name for walkthrough in model.walkthroughs]
    if only is not None and only not in names:
        near = nearest(only, names, most=1) or tuple(names)
        hint = "; there is " + ", ".join(f"`{name}`" for name in near) if near else ""
        raise CommandError(f"`{source.name}` has no walkthrough `{only}`{hint}")
    if not names:
        complain(f"`{source.name}` has no walkthroughs")
    codes = [OK]
    for walkthrough in model.walkthroughs:
        if only not in (None, walkthrough.name):
            continue
        performance = perform(model, walkthrough)
        told = performance_text(
            source,
            model,
            walkthrough.name,
            performance,
            story=only is not None,
            paint=paint_of_terminal(),
        )
        put_out(told)
        codes.append(OK if performance.failure is None else BROKEN)
    return worst(codes)


def script(readable: Readable, name: str, timing: Timing, save: str | None) -> int:
    """Play the steps of a script, tell what happens, and whether it saw what it wanted to see."""
    from behaviour.language.script import read_script
    from behaviour.rehearse.walking import perform_steps
    from behaviour.report.text import mistakes_text
    from behaviour.report.walkthroughs import performance_text
    from behaviour.source import Source

    text = _typed() if name == "-" else read_text(name)
    source = Source("script" if name == "-" else name, text)
    steps, mistakes = read_script(readable.source, source)
    if mistakes:
        sys.stderr.write(mistakes_text(source, mistakes))
        return UNREADABLE
    if not steps:
        where = "what was to be read here" if name == "-" else f"`{name}`"
        raise CommandError(f"there is no step in {where}, such as `press BUTTON`")
    performance = perform_steps(readable.model, steps, timing)
    told = performance_text(
        source, readable.model, source.name, performance, story=True, paint=paint_of_terminal()
    )
    put_out(told)
    if save is not None:
        keep(readable, performance.moments, save)
    return OK if performance.failure is None else BROKEN


def _typed() -> str:
    """Read what is typed or piped here."""
    try:
        return sys.stdin.read()
    except UnicodeDecodeError as problem:
        raise CommandError("what was to be read here is not UTF-8 text") from problem


def by_hand(readable: Readable, timing: Timing, save: str | None) -> int:
    """Play in the terminal; at the end give what was done as a walkthrough."""
    from behaviour.rehearse.desk import open_desk
    from behaviour.rehearse.noting import noted, walkthrough_text
    from behaviour.rehearse.terminal import NoTerminalError, play
    from behaviour.semantics import NotKnownError

    try:
        desk = play(open_desk(readable.model, timing))
    except NotKnownError as problem:
        raise CommandError(f"it cannot be switched on: {problem}") from problem
    except NoTerminalError as problem:
        raise CommandError(
            "keys cannot be read one by one here: `--script FILE` plays without them"
        ) from problem
    moments = desk.moments[: desk.at + 1]
    if save is not None:
        keep(readable, moments, save)
    else:
        put_out(f"{walkthrough_text(SAVED_NAME, noted(readable.model, moments))}\n")
    return OK


def keep(readable: Readable, moments: tuple[Moment, ...], name: str) -> None:
    """Write what was played as a walkthrough into a new file, and say what it cannot tell."""
    from behaviour.rehearse.noting import noted, walkthrough_text

    note = noted(readable.model, moments)
    write_new(name, f"{walkthrough_text(SAVED_NAME, note)}\n".encode())
    for words in note.untold:
        complain(f"the walkthrough cannot say this: {words}")
    put_out(f"written: {name}\n")


def rehearse(name: str, story_name: str) -> int:
    """Play every story of a check's JSON again and say whether each ends as it claims."""
    from behaviour.fingerprint import fingerprint
    from behaviour.rehearse.replaying import rehearse as play
    from behaviour.rehearse.told import StoryFormError, prints_of, read_stories

    readable = readable_file(name)
    if readable is None:
        return UNREADABLE
    codes = []
    text, print_ = read_text(story_name), fingerprint(readable.model)
    try:
        others = ", ".join(sorted(prints_of(text) - {print_}))
        if others:
            complain(f"the stories were told of {others}, and `{name}` is {print_} now")
        for story in read_stories(text):
            played = play(readable.model, story)
            codes.append(BROKEN if played.differs else OK)
            words = (
                f"differs  {story.name}: {played.differs}"
                if played.differs
                else f"as told  {story.name}: {played.ends}"
            )
            put_out(f"{words}\n")
    except StoryFormError as problem:
        raise CommandError(f"`{story_name}` cannot be played: {problem}") from problem
    return worst(codes)
