"""Small turns of phrase for messages. It knows nothing of files or mistakes."""

from collections.abc import Iterable, Sequence


def listed(names: Iterable[str], joint: str = "or") -> str:
    """Put names in back-ticks and string them together: `` `a`, `b`, or `c` ``."""
    return joined([f"`{name}`" for name in names], joint)


def joined(parts: Sequence[str], joint: str = "or") -> str:
    """Join phrases with commas and a last `joint`."""
    if len(parts) > 2:  # noqa: PLR2004 - two need no comma
        return f"{', '.join(parts[:-1])}, {joint} {parts[-1]}"
    return f" {joint} ".join(parts)


def with_article(thing: str) -> str:
    """Put `a` or `an` before a thing."""
    return f"{'an' if thing[:1] in 'aeiou' else 'a'} {thing}"


def there_is(thing: str, names: Sequence[str]) -> str:
    """Say which things of a kind there are: ``there is an input `lid` ``; empty for no names."""
    if not names:
        return ""
    if len(names) == 1:
        return f"there is {with_article(thing)} `{names[0]}`"
    return f"there are {listed(names, 'and')}"
