"""XML of other firms: read within its limits, and never beyond them."""

import pytest

from method.readers import ReadError, xml
from method.readers.xml import looks_like_xml, parse


def parsed(text, root=None):
    """The document of a text; root: what is called for the root element."""
    data = text if isinstance(text, bytes) else text.encode()
    return parse(data, "a.xml", root or (lambda *found: None))


def refused(text):
    """The refusal of a text."""
    with pytest.raises(ReadError) as caught:
        parsed(text)
    assert caught.value.file == "a.xml" and "%(" not in str(caught.value)
    return caught.value


def test_elements_are_kept_with_text_attributes_and_place():
    document = parsed(
        '<a x="1" y:z="2" xmlns:y="urn:y">\n one <b>two</b>\n  <b> three</b> four</a>'
    )
    root = document.root
    assert (root.name, root.attributes, root.line, root.column) == ("a", {"x": "1"}, 1, 1)
    assert [(one.text, one.line, one.column) for one in root.all("b")] == [
        ("two", 2, 6),
        (" three", 3, 3),
    ]
    assert root.text == "\n one \n   four" and root.said("b") == "two"
    assert root.said("c") is None and root.find("b", "c") is None and root.child("c") is None


def test_the_root_is_judged_before_anything_else_is_read():
    seen = []

    def judge(*found):
        seen.append(found)
        raise ReadError("xml-root", "a.xml", params={"found": "a", "expected": "b"})

    with pytest.raises(ReadError):
        parsed('\n <a xmlns="urn:a"><<<', judge)
    assert seen == [("urn:a", "a", 2, 2)]


def test_what_stands_in_another_namespace_is_left_alone_with_all_that_is_in_it():
    document = parsed(
        '<a xmlns="urn:a"><b>1</b><x:y xmlns:x="urn:x"><b>2</b><x:z/></x:y><x:y xmlns:x="urn:x"/>'
        '<z xmlns="">3</z><b>4</b></a>'
    )
    assert [one.text for one in document.root.children] == ["1", "4"]
    assert document.foreign == {"urn:x": 2, "": 1} and document.root.text == ""


@pytest.mark.parametrize(
    ("limit", "most", "good", "bad", "id"),
    [
        ("MAX_DEPTH", 3, "<a><b><c/></b></a>", "<a><b><c><d/></c></b></a>", "xml-deep"),
        (
            "MAX_DEPTH",
            3,
            "<a><b/><b/><b><c/></b></a>",
            "<a><b/><b/><b><c><d/></c></b></a>",
            "xml-deep",
        ),
        ("MAX_ATTRIBUTES", 2, "<a b='' c=''/>", "<a b='' c='' d=''/>", "xml-attributes"),
        ("MAX_ATTRIBUTE", 3, "<a b='123'/>", "<a b='1' c='1234'/>", "xml-attributes"),
    ],
)
def test_the_limits_themselves_are_kept(limit, most, good, bad, id, monkeypatch):
    monkeypatch.setattr(xml, limit, most)
    assert parsed(good).root.name == "a"
    error = refused(bad)
    assert error.id == id and error.line == 1 and str(most) in error.message % error.params


def test_elements_are_counted_wherever_they_stand(monkeypatch):
    monkeypatch.setattr(xml.Target, "most", 3)
    assert parsed("<a><b/><b/></a>").root.name == "a"
    assert refused("<a><b/><b/><b/></a>").id == "xml-many"
    assert refused('<a><b xmlns="urn:x"><c/><c/></b></a>').id == "xml-many"


def test_long_text_is_not_kept_and_the_rest_is_read(monkeypatch):
    monkeypatch.setattr(xml, "MAX_TEXT", 10)
    root = parsed("<a><b>0123456789</b><b>0123456789x<c/>y</b><b>z</b></a>").root
    assert [(one.long, one.text) for one in root.all("b")] == [
        (False, "0123456789"),
        (True, ""),
        (False, "z"),
    ]


@pytest.mark.parametrize("text", ["<a b='{}'/>", "<a><!--{}--></a>", "<a><?b {}?></a>"])
def test_one_tag_or_comment_is_not_endless(text, monkeypatch):
    monkeypatch.setattr(xml, "MAX_TOKEN", 100_000)
    monkeypatch.setattr(xml, "MAX_ATTRIBUTE", 10**9)
    assert parsed(text.format("y" * 90_000)).root.name == "a"
    assert refused(text.format("y" * 300_000)).id == "xml-token"
    plain = parsed(f"<a>{'y' * 300_000}</a>")  # text may be: it is delivered in pieces
    assert plain.root.long


@pytest.mark.parametrize(
    ("text", "id", "line", "column"),
    [
        ("<a>\n<b></a>", "xml-broken", 2, 6),
        ("<a>\n  &x;</a>", "xml-broken", 2, 3),
        ("<a>\n<b>", "xml-cut", 2, 4),
        ("<a>\n<b", "xml-cut", 2, 1),
        ("<a>\n<![CDATA[x", "xml-cut", 2, None),
        (" ", "empty", None, None),
        ("\n<?xml version='1.0'?><a/>", "xml-broken", 2, 1),
        ("<!DOCTYPE a><a/>", "xml-document-type", 1, None),
        ("<!DOCTYPE a [<!ENTITY b 'c'>]><a>&b;</a>", "xml-document-type", 1, None),
        ("<?xml version='1.0' encoding='utf-7'?><a/>", "xml-encoding", 1, None),
        ("<?xml version='1.0' encoding='cp037'?><a/>", "xml-encoding", 1, None),
    ],
)
def test_faults_are_named_by_place(text, id, line, column):
    error = refused(text)
    assert (error.id, error.line) == (id, line)
    assert column is None or error.column == column


def test_an_encoding_that_only_wide_text_could_declare_is_refused():
    text = "<?xml version='1.0' encoding='nonesuch'?><a/>"
    assert refused(text.encode("utf-16")).id == "xml-encoding"


def test_files_beyond_the_limit_are_not_looked_at(monkeypatch):
    monkeypatch.setattr("method.readers.text.MAX_BYTES", 8)
    assert parsed("<a>  </a"[:3] + "</a>").root.name == "a"
    assert refused("<a>  </a>").id == "too-large"


@pytest.mark.parametrize(
    ("data", "is_xml"),
    [
        (b"<a/>", True),
        (b"\xef\xbb\xbf \r\n\t<a/>", True),
        ("<a/>".encode("utf-16"), True),
        (b"\xfe\xff" + " <a/>".encode("utf-16-be"), True),
        ("<a/>".encode("utf-16-le"), True),
        ("<a/>".encode("utf-16-be"), True),
        (b"", False),
        (b"a<b", False),
        (b"\xff\xfea\0<\0", False),
        (b"PK\x03\x04<", False),
        (b"label,400", False),
        (b" " * 5_000 + b"<a/>", False),
    ],
)
def test_xml_is_told_by_its_first_sign(data, is_xml):
    assert looks_like_xml(data) is is_xml
