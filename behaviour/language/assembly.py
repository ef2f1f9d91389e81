"""Puts YAML events together into nodes, so that nothing is lost, doubled, or grows past its bound.

It knows nothing of what a behaviour file may hold. Unlike a YAML library's own composer it keeps
every scalar as the text that was written, sees a key that is written twice, and counts what an
alias stands for before anything walks it.
"""

import re
from dataclasses import dataclass, field

import yaml

from behaviour.findings import Label
from behaviour.language.mistakes import Mistakes
from behaviour.language.nodes import Broken, Entry, Listing, Mapping, Node, Places, Scalar
from behaviour.source import Span
from behaviour.units import shortened

DEEPEST = 32
"""Levels that lists and keys may stand inside each other."""

MOST_NODES = 100_000
"""Texts, lists and groups of keys that a file may have, with every alias written out."""

_BEFORE_TEXT = re.compile(r"(?:[&!]\S*\s+)+")


@dataclass(slots=True)
class _Frame:
    """A list or a group of keys that is not closed yet; `last` is where its last part ends."""

    is_list: bool
    in_braces: bool
    start: int
    anchor: str | None
    last: int
    items: list[Node] = field(default_factory=list)
    entries: dict[str, Entry] = field(default_factory=dict)
    key: Scalar | Broken | None = None
    size: int = 1
    height: int = 0
    damaged: bool = False

    @property
    def waits_for_key(self) -> bool:
        return not self.is_list and self.key is None


@dataclass(slots=True)
class Assembly:
    """Takes a file's events in order. `shift` is how many signs stand before the first of them.

    `root` is the whole once all are taken; `is_stopped` after a mistake that ends the reading.
    """

    places: Places
    mistakes: Mistakes
    shift: int
    root: Node | None = None
    is_stopped: bool = False
    _documents: int = 0
    _count: int = 0
    _stack: list[_Frame] = field(default_factory=list)
    _anchors: dict[str, Node | None] = field(default_factory=dict)

    def take(self, event: yaml.Event) -> None:
        match event:
            case yaml.ScalarEvent():
                self._take_scalar(event)
            case yaml.CollectionStartEvent():
                self._open(event)
            case yaml.CollectionEndEvent():
                self._close(event)
            case yaml.AliasEvent():
                self._take_alias(event)
            case yaml.DocumentStartEvent():
                self._documents += 1
                if self._documents > 1:
                    self._stop(
                        self._span(event),
                        "the file holds a second document",
                        "it begins here",
                        "one file describes one prop: take out the line `---`",
                    )
            case _:
                pass

    def _take_scalar(self, event: yaml.ScalarEvent) -> None:
        start, end = self._start(event), self._end(event)
        before = _BEFORE_TEXT.match(self.places.text, start, end) if event.anchor else None
        start = before.end() if before else start
        end = start + len(self.places.text[start:end].rstrip())
        if event.tag:
            self._refuse_tag(event)
        plain = not event.style
        if plain and not event.value:
            start = self._sign_before(start)
            end = start + 1
        node = Scalar(event.value, self.places.span(start, end), start, end, plain)
        if event.anchor:
            self._anchors[event.anchor] = node
        self._attach(node, end)

    def _sign_before(self, index: int) -> int:
        """Find the colon or dash after which nothing was written."""
        at = index - 1
        while at > 0 and self.places.text[at].isspace():
            at -= 1
        return max(at, 0)

    def _open(self, event: yaml.CollectionStartEvent) -> None:
        is_list = isinstance(event, yaml.SequenceStartEvent)
        start = self._start(event)
        self._refuse_tag(event)
        self._stack.append(_Frame(is_list, bool(event.flow_style), start, event.anchor, start + 1))
        if event.anchor:
            self._anchors[event.anchor] = None
        if len(self._stack) > DEEPEST:
            self._stop_for_depth(self._span(event))

    def _close(self, event: yaml.CollectionEndEvent) -> None:
        frame = self._stack.pop()
        end = self._end(event) if frame.in_braces else frame.last
        span = self.places.span(frame.start, end)
        node: Node
        if frame.is_list:
            node = Listing(tuple(frame.items), span, frame.size, frame.height)
        else:
            entries = tuple(frame.entries.values())
            node = Mapping(entries, span, frame.size, frame.height, frame.damaged)
        if frame.anchor:
            self._anchors[frame.anchor] = node
        self._attach(node, end)

    def _take_alias(self, event: yaml.AliasEvent) -> None:
        name, span = str(event.anchor), self._span(event)
        node = self._anchors.get(name)
        if name not in self._anchors:
            hint = f"a text that begins with `*` is put in quotes; an alias needs `&{name}` before"
            message = f"`*{name}` refers to nothing"
            self.mistakes.add_once(("*", name), span, message, label="no `&` of it", hint=hint)
        elif node is None:
            message = f"`*{name}` stands inside what it refers to"
            self.mistakes.add(span, message, label="refers to what it is part of")
        elif self._stack and self._stack[-1].waits_for_key:
            self.mistakes.add(span, f"`*{name}` cannot be a key", hint="write the key itself")
            node = None
        if node is not None and len(self._stack) + node.height > DEEPEST:
            self._stop_for_depth(span)
            return
        self._attach(node or Broken(span), self._end(event), node.size if node else 1)

    def _attach(self, node: Node, end: int, grows_by: int = 1) -> None:
        """Put a finished node where it belongs; it adds `grows_by` parts to the file."""
        self._count += grows_by
        if self._count > MOST_NODES:
            message = f"the file has more than {MOST_NODES:,} parts, with its aliases written out"
            self._stop(self.places.span(end - 1, end), message, "past the bound from here on")
            return
        if not self._stack:
            self.root = node
            return
        frame = self._stack[-1]
        frame.last = max(frame.last, end)
        frame.size += node.size
        frame.height = max(frame.height, node.height + 1)
        if frame.is_list:
            frame.items.append(node)
        elif frame.key is None:
            frame.key = self._as_key(node)
        else:
            self._add_entry(frame, frame.key, node, end)
            frame.key = None

    def _as_key(self, node: Node) -> Scalar | Broken:
        match node:
            case Broken():
                return node
            case Scalar(text="<<", plain=True):
                hint = "write the keys out where they are wanted"
                self.mistakes.add(node.span, "`<<` is not read here", hint=hint)
            case Scalar() if node.is_blank:
                self.mistakes.add(node.span, "no key stands before this colon", label="no key")
            case Scalar():
                return node
            case _:
                thing = "a list" if isinstance(node, Listing) else "braces"
                hint = "a text that begins with a bracket or brace is put in quotes"
                self.mistakes.add(node.span, f"a key is a text, not {thing}", hint=hint)
        return Broken(node.span)

    def _add_entry(self, frame: _Frame, key: Scalar | Broken, node: Node, end: int) -> None:
        if isinstance(key, Broken):
            frame.damaged = True
            return
        if isinstance(node, Scalar) and node.is_blank and frame.in_braces:
            self._refuse_valueless(frame, key)
            frame.damaged = True
            return
        first = frame.entries.get(key.text)
        if first is not None:
            self.mistakes.add(
                key.span,
                f"`{shortened(key.text)}` is written twice",
                label="written again here",
                related=(Label(first.key.span, "first written here"),),
                hint="keep one of them",
            )
            return
        span = self.places.span(key.start, max(end, key.end))
        frame.entries[key.text] = Entry(key, node, span)

    def _refuse_valueless(self, frame: _Frame, key: Scalar) -> None:
        """Say what was probably meant by a key with no value inside braces."""
        text = shortened(key.text)
        name, colon, value = key.text.partition(":")
        after = self.places.text[key.end : key.end + 1]
        before = next(reversed(frame.entries.values()), None)
        if colon and value and key.plain:
            hint = f"put a space after the colon: `{name}: {shortened(value.strip())}`"
        elif after != ":" and before is not None and isinstance(before.value, Scalar):
            name, _, value = text.partition(" ")
            whole = f"{shortened(before.value.text, 40)}, {text}"
            if re.fullmatch(r"\d+", before.value.text) and text[:1].isdecimal():
                hint = f"a decimal has a point: `{before.value.text}.{text}`"
            else:
                hint = (
                    f"put a colon after the key (`{name}: {value or '...'}`), or quote this text "
                    f'where the comma belongs to it ("{whole}")'
                )
        elif after != ":" and " " in key.text:
            name, _, value = text.partition(" ")
            hint = f"put a colon and a space after the key: `{name}: {value}`"
        else:
            hint = f"write its value after a colon and a space: `{text}: ...`"
        message = f"`{text}` is a key with no value"
        self.mistakes.add(key.span, message, label="no value", hint=hint)

    def _refuse_tag(self, event: yaml.NodeEvent) -> None:
        tag = getattr(event, "tag", None)
        if tag:
            start = self._start(event)
            hint = "a text that begins with `!` is put in quotes"
            message = "a mark that begins with `!` means nothing here"
            self.mistakes.add(self.places.span(start, start + 1), message, hint=hint)

    def _stop_for_depth(self, span: Span) -> None:
        message = f"this stands more than {DEEPEST} levels deep"
        self._stop(span, message, "too deep", "take it apart into parts beside each other")

    def _stop(self, span: Span, message: str, label: str, hint: str = "") -> None:
        self.mistakes.add(span, message, label=label, hint=hint)
        self.is_stopped = True

    def _span(self, event: yaml.Event) -> Span:
        return self.places.span(self._start(event), self._end(event))

    def _start(self, event: yaml.Event) -> int:
        """Give where an event begins. The two scanners type marks differently."""
        return self.shift + int(getattr(event.start_mark, "index", 0))

    def _end(self, event: yaml.Event) -> int:
        return self.shift + int(getattr(event.end_mark, "index", 0))
