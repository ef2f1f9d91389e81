"""Asks what a pattern needs, one short question after the other.

It knows no terminal: it is given how to say something, and how to hear an answer.
"""

from collections.abc import Callable, Mapping

from behaviour.start.pattern import PATTERNS, Pattern, WrongAnswerError, answered

Say = Callable[[str], None]
Hear = Callable[[str], str]
"""Shows the words before the place where somebody writes, and gives what was written."""


def pattern_named(which: str) -> Pattern | None:
    """Find a pattern by its name or its number."""
    for number, pattern in enumerate(PATTERNS, start=1):
        if which in (pattern.name, str(number)):
            return pattern
    return None


def ask_pattern(say: Say, hear: Hear) -> Pattern:
    """Ask which pattern is the nearest; nothing at all is the first."""
    say("What is nearest to your prop?\n")
    for number, pattern in enumerate(PATTERNS, start=1):
        say(f"  {number}  {pattern.about}\n")
    while True:
        found = pattern_named(hear("[1] ").strip() or "1")
        if found is not None:
            return found
        say(f"  write a number from 1 to {len(PATTERNS)}\n")


def ask_rest(pattern: Pattern, given: Mapping[str, str], say: Say, hear: Hear) -> dict[str, str]:
    """Ask what was not given already; nothing at all is the usual answer."""
    answers = dict(given)
    for question in pattern.questions:
        while question.word not in answers:
            try:
                answer = answered(question, hear(f"{question.asks} [{question.usual}] "))
            except WrongAnswerError as wrong:
                say(f"  {wrong}\n")
            else:
                answers[question.word] = answer
    return answers
