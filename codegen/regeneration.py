"""What an emit over an older one changes for the user's own files, in words. It writes nothing.

Strategy: names that the generated headers had and have no more, and values that are new, are looked
for in what is the user's. A file that the user may write as he likes is not understood beyond that.
"""

import re
from collections.abc import Iterator, Mapping

COMMENT = re.compile(r"/\*.*?\*/|//[^\n]*", re.DOTALL)
ENUM = re.compile(r"^enum (\w+) \{(.*?)^\};", re.MULTILINE | re.DOTALL)


def changed_for(
    before: Mapping[str, str], after: Mapping[str, str], yours: Mapping[str, str]
) -> tuple[str, ...]:
    """Tell of names that have gone and values that are new, for each of the user's files.

    All are texts by file name: the generated headers before and after, and what is the user's.
    """
    old, new = "\n".join(before.values()), "\n".join(after.values())
    gone = _names(old) - _names(new)
    return tuple(
        message
        for file, text in yours.items()
        for message in (*_gone(file, text, gone), *_new_values(file, text, old, new))
    )


def _gone(file: str, text: str, gone: frozenset[str]) -> Iterator[str]:
    found: dict[str, int] = {}
    for number, line in enumerate(_bare(text).splitlines(), 1):
        for name in re.findall(r"\w+", line):
            if name in gone:
                found.setdefault(name, number)
    for name, number in found.items():
        yield f"`{name}` has gone from the behaviour, and line {number} of `{file}` names it"


def _new_values(file: str, text: str, old: str, new: str) -> Iterator[str]:
    """Tell of values that a file does not name although it names others of the same thing."""
    named, before = frozenset(re.findall(r"\w+", _bare(text))), _values(old)
    for tag, values in _values(new).items():
        known = before.get(tag, ())
        if not named & {*known}:
            continue
        for value in values:
            if value not in known and value not in named:
                yield f"`{value}` is new, and `{file}` names others beside it and not this one"


def _names(headers: str) -> frozenset[str]:
    return frozenset(re.findall(r"[A-Za-z_]\w*", _bare(headers)))


def _values(headers: str) -> dict[str, tuple[str, ...]]:
    """Map each enum to its values."""
    return {tag: tuple(re.findall(r"\w+", body)) for tag, body in ENUM.findall(_bare(headers))}


def _bare(text: str) -> str:
    """Put blanks for comments, so that lines stay what they are."""
    return COMMENT.sub(lambda found: re.sub(r"[^\n]", " ", found[0]), text)
