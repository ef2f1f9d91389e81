"""A short digest of what a model means. It knows nothing of layout, places or who prints it."""

from dataclasses import MISSING, fields, is_dataclass
from enum import Enum
from hashlib import sha256
from json import dumps

from behaviour.model import Model

NOT_MEANT = frozenset({"settings", "firmware_name"})
"""Fields of the model that name what it says elsewhere: they change no meaning."""


def fingerprint(model: Model) -> str:
    """Give the fingerprint that every copy carries, such as `7c3f-91aa`.

    Two files have the same one if they differ only in layout, comments, the places where things
    stand, how a value is spelled (`1.5 s` or `1500 ms`, by a name of `settings` or not), or the
    name that the firmware goes by. It is the first 32 bits of a SHA-256.
    """
    canonical = dumps(_plain(model), separators=(",", ":"))
    digits = sha256(canonical.encode()).hexdigest()
    return f"{digits[:4]}-{digits[4:8]}"


def _plain(value: object) -> object:
    """Put a value of the model as lists, strings and numbers, leaving out what is at its default.

    Leaving defaults out keeps fingerprints when a later release can say more.
    """
    if is_dataclass(value) and not isinstance(value, type):
        kept: list[object] = [type(value).__name__]
        for field in fields(value):
            inner = getattr(value, field.name)
            is_default = field.default is not MISSING and inner == field.default
            if field.compare and not is_default and field.name not in NOT_MEANT:
                kept.append([field.name, _plain(inner)])
        return kept
    match value:
        case Enum():
            return value.name
        case tuple():
            return [_plain(part) for part in value]
        case None | str() | int() | float():
            return value
        case _:
            raise TypeError(f"a model holds no {type(value).__name__}")
