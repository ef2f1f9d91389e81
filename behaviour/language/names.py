"""What a name may be. It knows nothing of what is named."""

import re
import unicodedata

from behaviour.units import Unreadable, shortened

LONGEST_NAME = 40

_C = """
    alignas alignof auto bool break case char const constexpr continue default do double else enum
    extern false float for goto if inline int long nullptr register restrict return short signed
    sizeof static static_assert struct switch thread_local true typedef typeof typeof_unqual union
    unsigned void volatile while
"""
_CPP = """
    alignas alignof and and_eq asm auto bitand bitor bool break case catch char char16_t char32_t
    char8_t class co_await co_return co_yield compl concept const const_cast consteval constexpr
    constinit continue decltype default delete do double dynamic_cast else enum explicit export
    extern false float for friend goto if inline int long mutable namespace new noexcept not not_eq
    nullptr operator or or_eq private protected public register reinterpret_cast requires return
    short signed sizeof static static_assert static_cast struct switch template this thread_local
    throw true try typedef typeid typename union unsigned using virtual void volatile wchar_t while
    xor xor_eq
"""
_CONDITION = "is not either or neither nor becomes for in and"

C_WORDS = frozenset(_C.split())
"""The keywords of C without an underscore in front, up to ISO/IEC 9899:2024."""

CPP_WORDS = frozenset(_CPP.split())
"""The keywords and spelt-out signs of C++, up to ISO/IEC 14882:2020."""

CONDITION_WORDS = frozenset(_CONDITION.split())

OWN_WORDS = frozenset({"unknown", "any", "stay", "done", "moving", "rest"})
"""Words that stand in a file for something else than a name."""

_SPELT_OUT = str.maketrans({"ß": "ss", "æ": "ae", "œ": "oe", "ø": "o", "ł": "l", "đ": "d"})
NAME_FORM = r"[A-Za-z][A-Za-z0-9_]*"
_NAME = re.compile(NAME_FORM)


def wrong_name(text: str) -> Unreadable | None:
    """Say what is wrong with a name, or None where nothing is."""
    if not _NAME.fullmatch(text):
        meant = as_identifier(text, "")
        hint = "a name is a letter, then letters, digits and underscores"
        if meant and wrong_name(meant) is None:
            hint = f"{hint}, such as `{meant}`"
        return Unreadable(f"`{shortened(text)}` cannot be a name", hint)
    if len(text) > LONGEST_NAME:
        return Unreadable(
            f"the name `{shortened(text)}` is {len(text)} signs long",
            f"a name has at most {LONGEST_NAME}",
        )
    hint = f"choose another, such as `{text}_1`"
    if text in CONDITION_WORDS:
        return Unreadable(f"`{text}` is a word of the conditions and cannot be a name", hint)
    if text in OWN_WORDS:
        return Unreadable(f"`{text}` has a meaning of its own here and cannot be a name", hint)
    if text in C_WORDS | CPP_WORDS:
        return Unreadable(f"`{text}` is a word of C or C++ and cannot be a name", hint)
    return None


def as_identifier(text: str, otherwise: str = "prop") -> str:
    """Turn any text into a name by the nearest plain letters; `otherwise` where none is left."""
    letters = (
        unicodedata.normalize("NFKD", text.translate(_SPELT_OUT)).encode("ascii", "ignore").decode()
    )
    plain = re.sub(r"[^A-Za-z0-9]+", "_", letters).strip("_")
    if not plain:
        return otherwise
    if plain[0].isdigit():
        plain = f"n{plain}" if not otherwise else f"{otherwise}_{plain}"
    if plain in C_WORDS | CPP_WORDS | CONDITION_WORDS | OWN_WORDS:
        plain = f"{plain}_1" if not otherwise else f"{plain}_{otherwise}"
    return plain[:LONGEST_NAME].rstrip("_")
