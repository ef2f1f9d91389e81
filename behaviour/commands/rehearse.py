"""`rehearse`: the stories of a check played once more."""

from __future__ import annotations

from behaviour.commands.answering import (
    BROKEN,
    OK,
    UNREADABLE,
    CommandError,
    put_out,
    readable_file,
    worst,
)
from behaviour.commands.arguments import Arguments, Parser
from behaviour.disk import read_text


def run(arguments: Arguments) -> int:
    """Run it with its arguments and give its exit code."""
    parser = Parser("tablework rehearse", description="Play the stories of a check once more.")
    parser.add_argument("spec", metavar="SPEC", help="the behaviour file that was checked")
    parser.add_argument("--story", metavar="FILE", required=True, help="from `check --as json`")
    asked = parser.parse_args(arguments)
    return rehearse(asked.spec, asked.story)


def rehearse(name: str, story_name: str) -> int:
    """Play every story of a check's JSON again and say whether each ends as it claims."""
    from behaviour.rehearse.replaying import rehearse as play
    from behaviour.rehearse.told import StoryFormError, read_stories

    readable = readable_file(name)
    if readable is None:
        return UNREADABLE
    codes = []
    try:
        for story in read_stories(read_text(story_name)):
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
