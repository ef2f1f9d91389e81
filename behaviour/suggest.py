"""The nearest known names to one that was written wrong. It knows nothing of where they stand."""

from collections.abc import Iterable

LONGEST = 60
"""A word longer than this is near to nothing; it keeps the comparison cheap."""


def nearest(word: str, known: Iterable[str], most: int = 3) -> tuple[str, ...]:
    """Give the known names near to `word`, the nearest first, at most `most` of them.

    Near is a distance of at most a third of the longer word, and at least one. Capitals do not
    count as different. A known name that is the word itself is left out.
    """
    if len(word) > LONGEST:
        return ()
    found = []
    for name in dict.fromkeys(known):
        allowed = max(1, max(len(word), len(name)) // 3)
        if name == word or abs(len(word) - len(name)) > allowed:
            continue
        apart = distance(word.lower(), name.lower())
        if apart <= allowed and apart < max(len(word), len(name)):
            found.append((apart, name))
    return tuple(name for _, name in sorted(found)[:most])


def distance(one: str, other: str) -> int:
    """Count the letters to put in, take out, change, or swap with their neighbour.

    The optimal string alignment distance, after Damerau (1964).
    """
    before: list[int] = []
    last = list(range(len(other) + 1))
    for row, left in enumerate(one, start=1):
        now = [row]
        for column, right in enumerate(other, start=1):
            cost = min(
                last[column] + 1,
                now[column - 1] + 1,
                last[column - 1] + (left != right),
            )
            if row > 1 and column > 1 and left == other[column - 2] and one[row - 2] == right:
                cost = min(cost, before[column - 2] + 1)
            now.append(cost)
        before, last = last, now
    return last[-1]
