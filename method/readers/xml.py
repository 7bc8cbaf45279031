"""XML from other firms: no document type, no entities, nothing fetched, bounded in every direction.

``parse`` keeps the elements of one namespace, each with its line and column; what stands in another
namespace is left alone, whatever it is, and counted.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any
from xml.etree.ElementTree import ParseError

from defusedxml.common import DefusedXmlException
from defusedxml.ElementTree import DefusedXMLParser

from method.readers import text as limits
from method.readers.errors import ReadError

MAX_DEPTH = 64
MAX_ELEMENTS = 300_000
MAX_ATTRIBUTES = 100
MAX_ATTRIBUTE = 10_000
MAX_TEXT = 200_000  # characters of one element: a spectrum of 1 nm steps has about 10,000
MAX_TOKEN = 512 * 1024  # bytes of one tag, comment or the like
_CHUNK = 64 * 1024
# expat: the document ended inside an element, a token or a CDATA section
_CUT = {3, 5, 20}
_DECLARED = re.compile(rb"<\?xml[^>]{0,200}?encoding\s*=\s*[\"']([A-Za-z0-9._-]{1,40})[\"']")
_ENCODINGS = {"utf-8", "utf8", "utf-16", "us-ascii", "ascii", "iso-8859-1", "windows-1252"}


class Element:
    """One element: local name, attributes, its own text, children, and where its tag begins.

    Attributes without a namespace only. line, column: from 1. long: the text went over MAX_TEXT
    and was not kept.
    """

    __slots__ = ("attributes", "children", "column", "line", "long", "name", "text")

    def __init__(self, name: str, attributes: dict[str, str], line: int, column: int) -> None:
        """Begin without text and children."""
        self.name, self.attributes, self.line, self.column = name, attributes, line, column
        self.children: list[Element] = []
        self.text, self.long = "", False

    def child(self, name: str) -> Element | None:
        """Return the first child of that name."""
        return next((one for one in self.children if one.name == name), None)

    def all(self, name: str) -> list[Element]:
        """Return the children of that name."""
        return [one for one in self.children if one.name == name]

    def find(self, *names: str) -> Element | None:
        """Return the first descendant along a path of names."""
        here: Element | None = self
        for name in names:
            here = here.child(name) if here is not None else None
        return here

    def said(self, *names: str) -> str | None:
        """Return the text of the first descendant along a path, None where there is none."""
        found = self.find(*names)
        return (found.text.strip() or None) if found is not None else None


class Target:
    """Counts what a document holds and refuses what goes over the limits.

    Subclasses take ``start``, ``end`` and ``data`` further. most: elements.
    """

    most = MAX_ELEMENTS

    def __init__(self, name: str) -> None:
        """name: of the file, for refusals."""
        self.file, self.depth, self.elements = name, 0, 0
        self.expat: Any = None

    def place(self) -> tuple[int, int]:
        """Return line and column of the current event, from 1."""
        return self.expat.CurrentLineNumber, self.expat.CurrentColumnNumber + 1

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        """Count an element that begins; ReadError over the limits."""
        self.depth += 1
        self.elements += 1
        if self.depth > MAX_DEPTH or self.elements > self.most:
            self._refuse()
        if attributes:
            long = max(map(len, attributes.values())) > MAX_ATTRIBUTE
            if long or len(attributes) > MAX_ATTRIBUTES:
                self._refuse()

    def _refuse(self) -> None:
        """Raise ReadError for the limit that the current element goes over."""
        line, column = self.place()
        if self.depth > MAX_DEPTH:
            params = {"limit": str(MAX_DEPTH)}
            raise ReadError("xml-deep", self.file, line=line, column=column, params=params)
        if self.elements > self.most:
            params = {"limit": str(self.most)}
            raise ReadError("xml-many", self.file, line=line, column=column, params=params)
        params = {"limit": str(MAX_ATTRIBUTES), "size": str(MAX_ATTRIBUTE)}
        raise ReadError("xml-attributes", self.file, line=line, column=column, params=params)

    def end(self, tag: str) -> None:
        """Count an element that ends."""
        self.depth -= 1

    def data(self, text: str) -> None:
        """Take a piece of text."""

    def close(self) -> None:
        """Be told that the document has ended."""


class _Tree(Target):
    """Builds the elements of the root's namespace and counts the others."""

    def __init__(self, name: str, check: Callable[[str, str, int, int], None]) -> None:
        super().__init__(name)
        self.check, self.own = check, ""
        self.root: Element | None = None
        self.open: list[Element] = []
        self.pieces: list[list[str]] = []
        self.lengths: list[int] = []
        self.foreign: dict[str, int] = {}
        self.skipped = 0  # depth inside a foreign element

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        super().start(tag, attributes)
        namespace, local = split(tag)
        line, column = self.place()
        if self.root is None:
            self.check(namespace, local, line, column)
            self.own = namespace
        elif self.skipped or namespace != self.own:
            if not self.skipped:
                self.foreign[namespace] = self.foreign.get(namespace, 0) + 1
            self.skipped += 1
            return
        plain = {key: value for key, value in attributes.items() if not key.startswith("{")}
        element = Element(local, plain, line, column)
        if self.root is None:
            self.root = element
        else:
            self.open[-1].children.append(element)
        self.open.append(element)
        self.pieces.append([])
        self.lengths.append(0)

    def data(self, text: str) -> None:
        if self.skipped or not self.open or self.open[-1].long:
            return
        self.pieces[-1].append(text)
        self.lengths[-1] += len(text)
        if self.lengths[-1] > MAX_TEXT:
            self.open[-1].long = True
            self.pieces[-1].clear()

    def end(self, tag: str) -> None:
        super().end(tag)
        if self.skipped:
            self.skipped -= 1
            return
        element = self.open.pop()
        self.lengths.pop()
        element.text = "".join(self.pieces.pop())


class Document:
    """What ``parse`` kept. foreign: elements of other namespaces left alone, by namespace."""

    def __init__(self, root: Element, foreign: dict[str, int]) -> None:
        """Keep both."""
        self.root, self.foreign = root, foreign


def looks_like_xml(data: bytes) -> bool:
    """Tell whether bytes begin as XML does: a mark of the encoding, blanks, then ``<``."""
    head = data[:4096]
    for mark, codec in ((b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be")):
        if head.startswith(mark):
            return head[2:].decode(codec, "replace").lstrip().startswith("<")
    if head.startswith((b"<\x00", b"\x00<")):
        return True
    return head.removeprefix(b"\xef\xbb\xbf").lstrip().startswith(b"<")


def split(tag: str) -> tuple[str, str]:
    """Return namespace (may be empty) and local name of a tag written ``{namespace}name``."""
    namespace, brace, local = tag.rpartition("}")
    return (namespace[1:], local) if brace else ("", tag)


def parse(data: bytes, name: str, root: Callable[[str, str, int, int], None]) -> Document:
    """Return the elements of the root's namespace.

    root: called with namespace, local name, line and column of the root element before anything
    else is read; it raises ReadError where this is another kind of file.

    Raises ReadError for broken and cut files, document types, entities, encodings other than
    UTF-8, UTF-16, ASCII and the two Latin-1 forms, and for whatever goes over the limits.
    """
    target = _Tree(name, root)
    run(data, name, target)
    if target.root is None:  # expat refuses a document without a root element before
        raise ReadError("xml-cut", name)
    return Document(target.root, target.foreign)


def run(data: bytes, name: str, target: Target) -> None:
    """Send the events of a document to ``target``; ReadError as for ``parse``."""
    if len(data) > limits.MAX_BYTES:
        params = {"size": str(len(data)), "limit": str(limits.MAX_BYTES)}
        raise ReadError("too-large", name, params=params)
    if not data.strip():
        raise ReadError("empty", name)
    _check_encoding(data, name)
    parser = DefusedXMLParser(
        target=target, forbid_dtd=True, forbid_entities=True, forbid_external=True
    )
    # it would be called for every comment; without document type expat itself refuses entities
    parser.parser.DefaultHandlerExpand = None
    target.expat = parser.parser
    try:
        for at in range(0, len(data), _CHUNK):
            parser.feed(data[at : at + _CHUNK])
            _check_token(min(at + _CHUNK, len(data)), target, name)
        parser.close()
    except ReadError:  # itself a ValueError
        raise
    except DefusedXmlException as error:
        line, column = target.place()
        raise ReadError("xml-document-type", name, line=line, column=column) from error
    except ParseError as error:
        line, column = error.position
        if error.code in _CUT:
            raise ReadError("xml-cut", name, line=line, column=column + 1) from error
        params = {"fault": str(error).split(":")[0]}
        raise ReadError("xml-broken", name, line=line, column=column + 1, params=params) from error
    except (LookupError, ValueError) as error:  # an encoding that only UTF-16 text could declare
        raise ReadError("xml-encoding", name, line=1, params={"encoding": "?"}) from error


def _check_encoding(data: bytes, name: str) -> None:
    """Raise ReadError for a declared encoding beyond those that every writer knows."""
    declared = _DECLARED.match(data.removeprefix(b"\xef\xbb\xbf"))
    if declared and declared.group(1).decode("ascii").lower() not in _ENCODINGS:
        encoding = declared.group(1).decode("ascii")
        raise ReadError("xml-encoding", name, line=1, params={"encoding": encoding})


def _check_token(fed: int, target: Target, name: str) -> None:
    """Raise ReadError where one tag or comment goes on and on: expat reads it again each time."""
    begun = max(int(target.expat.CurrentByteIndex), 0)
    if fed - begun > MAX_TOKEN:
        line, column = target.place()
        params = {"limit": str(MAX_TOKEN)}
        raise ReadError("xml-token", name, line=line, column=column, params=params)
