"""Checkpoint notes: one exact form, every wrong line named, the root's signature checked by a
JOSE library that is not ours (joserfc) over a checkpoint rebuilt by hand from the lines."""

import base64
import email
import email.policy
import json
from email.message import EmailMessage

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from joserfc import jws as jose
from joserfc.errors import BadSignatureError
from joserfc.jwk import ECKey

from ledger import certificates, statements
from ledger.notes import (
    Countersigned,
    NoteError,
    check_signed,
    note_in,
    note_text,
    read_note,
)
from tests.ledger import small as make
from tests.ledger.small import CHAIN

LINES = (
    Countersigned("supplier", 7, 6, "a" * 64, "b" * 64),
    Countersigned("customer", 6, 5, "c" * 64, "d" * 64),
)


@pytest.fixture
def given(db) -> tuple[str, bytes]:
    """A note of a small chain, with two countersignatures, and the root's certificate."""
    small = make.signed()
    root = certificates.fingerprint(small.root)
    document = statements.checkpoint(CHAIN, root_fingerprint=root)
    signed = statements.sign_checkpoint(small.root_key, document)
    return note_text(document, signed, LINES), small.root


def test_a_note_has_exactly_the_lines_of_its_form(given):
    text, _root = given
    lines = text.split("\n")
    assert lines[0] == "countershade checkpoint 1" and lines[-1] == ""
    words = [line.split(" ")[0] for line in lines[1:-1]]
    assert words == [
        "chain", "number", "hash", "time", "root", "signed", "countersigned", "countersigned",
    ]  # fmt: skip
    assert lines[7] == f"countersigned customer 6 5 {'c' * 64} {'d' * 64}"
    assert text.isascii() and max(map(len, lines)) < 300


def test_what_was_written_is_read(given):
    text, root = given
    note = read_note(text)
    assert note.chain == CHAIN and note.root == certificates.fingerprint(root)
    assert note.number == statements.head(CHAIN).number and note.hash == statements.head(CHAIN).hash
    assert note.countersigned == tuple(sorted(LINES, key=lambda one: one.side))
    assert note_text(note.checkpoint, note.signed, note.countersigned) == text
    check_signed(note, root)


def test_a_jose_library_accepts_the_checkpoint_rebuilt_from_the_lines(given):
    text, root = given
    said = dict(line.split(" ", 1) for line in text.split("\n")[1:7])
    document = {name: said[name] for name in ("chain", "hash", "time", "root")}
    document |= {"v": 1, "number": int(said["number"])}
    # RFC 8785 of such a small object: sorted keys, no blanks, ASCII.
    data = json.dumps(document, sort_keys=True, separators=(",", ":")).encode()
    public = x509.load_der_x509_certificate(root).public_key()
    key = ECKey.import_key(public.public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo))
    head, _, tail = said["signed"].split(".")
    assert json.loads(base64.urlsafe_b64decode(head + "=" * (-len(head) % 4))) == {
        "alg": "ES256", "typ": "countershade-checkpoint",
    }  # fmt: skip

    def whole(bytes_: bytes) -> str:
        return f"{head}.{base64.urlsafe_b64encode(bytes_).decode().rstrip('=')}.{tail}"

    assert jose.deserialize_compact(whole(data), key).payload == data
    with pytest.raises(BadSignatureError):
        jose.deserialize_compact(whole(data.replace(b'"number":', b'"number":1')), key)


@pytest.mark.parametrize("line", [2, 3, 4, 5])
def test_a_signed_line_that_was_changed_does_not_hold(given, line):
    text, root = given
    lines = text.split("\n")
    lines[line - 1] = {
        2: "chain another", 3: "number 9999", 4: f"hash {'0' * 64}",
        5: "time 2036-03-03T09:30:00.000000Z",
    }[line]  # fmt: skip
    with pytest.raises(NoteError) as caught:
        check_signed(read_note("\n".join(lines)), root)
    assert (caught.value.line, caught.value.word) == (7, "signed")


def test_another_root_did_not_sign_it(given):
    _key, other = certificates.make_root()
    with pytest.raises(NoteError):
        check_signed(read_note(given[0]), other)


HASH = "a" * 64
BAD = {
    "another title": (0, "countershade checkpoint 2", 1),
    "a title with a blank": (0, "countershade checkpoint 1 ", 1),
    "no chain": (1, "chain", 2),
    "two blanks": (1, "chain  x", 2),
    "a chain with a slash": (1, "chain a/b", 2),
    "a long chain": (1, f"chain {'x' * 65}", 2),
    "number nought": (2, "number 0", 3),
    "a leading nought": (2, "number 07", 3),
    "a signed number": (2, "number +7", 3),
    "another script's digits": (2, "number ٧", 3),
    "giant digits": (2, f"number {'9' * 5000}", 3),
    "capitals": (3, f"hash {'A' * 64}", 4),
    "a short hash": (3, "hash abc", 4),
    "another word": (3, f"digest {HASH}", 4),
    "no such day": (4, "time 2026-02-30T09:30:00.000000Z", 5),
    "another zone": (4, "time 2026-03-03T09:30:00.000000+00:00", 5),
    "a root in colons": (5, f"root {':'.join(['aa'] * 32)}", 6),
    "an attached JWS": (6, "signed a.b.c", 7),
    "four fields": (7, f"countersigned customer 6 5 {HASH}", 8),
    "six fields": (7, f"countersigned customer 6 5 {HASH} {HASH} {HASH}", 8),
    "a signature before its head": (7, f"countersigned customer 5 5 {HASH} {HASH}", 8),
    "a signature after the note": (7, f"countersigned customer 9999 5 {HASH} {HASH}", 8),
    "a side in two words": (7, f"countersigned the customer 6 5 {HASH} {HASH}", 8),
    "a later word": (7, "PS hello", 8),
    "an empty line": (7, "", 8),
    "a side twice": (7, f"countersigned supplier 6 5 {HASH} {HASH}", 9),
}


@pytest.mark.parametrize("name", BAD)
def test_every_wrong_line_is_named(given, name):
    index, line, number = BAD[name]
    lines = given[0].split("\n")
    lines[index] = line
    with pytest.raises(NoteError) as caught:
        read_note("\n".join(lines))
    assert caught.value.line == number and str(number) in str(caught.value)


@pytest.mark.parametrize("cut", range(1, 8))
def test_a_note_cut_off_after_any_line_is_refused(given, cut):
    lines = given[0].split("\n")
    for end in ("", "\n"):
        if cut == 7 and end:
            continue  # that one is whole: nobody has countersigned
        with pytest.raises(NoteError):
            read_note("\n".join(lines[:cut]) + end)
    assert read_note("\n".join(lines[:7]) + "\n").countersigned == ()


@pytest.mark.parametrize("text", ["", "\n", "\0", "x" * 20_000, "countershade checkpoint 1"])
def test_what_is_no_note_is_refused(text):
    with pytest.raises(NoteError):
        read_note(text)
    with pytest.raises(NoteError) as caught:
        note_in(text)
    assert not caught.value.several


def test_line_ends_of_another_system_are_no_note_until_it_was_looked_for(given):
    text = given[0].replace("\n", "\r\n")
    with pytest.raises(NoteError) as caught:
        read_note(text)
    assert caught.value.line == 1
    assert note_in(text) == read_note(given[0])


def quoted(text: str) -> str:
    """Behind two quotation marks, each of its long lines broken once."""
    lines = [part for line in text.splitlines() for part in wrapped(line)]
    return "".join(f"> > {line}\n" for line in lines)


def wrapped(line: str) -> list[str]:
    return line.rsplit(" ", 1) if line.startswith(("countersigned", "signed")) else [line]


def mail(body: str, cte: str, *attached: EmailMessage) -> bytes:
    made = EmailMessage(policy=email.policy.SMTP)
    made["From"], made["Subject"] = "somebody@example.org", "Prüfung"
    made.set_content(body, cte=cte)
    made.add_alternative("<p>see the text</p>", subtype="html")
    for one in attached:
        made.add_attachment(one)
    return made.as_bytes()


def test_a_note_is_found_in_a_mail_that_quotes_and_wraps_it(given):
    """Marks and wrapping as mail programs add them: common practice, no published source."""
    note = read_note(given[0])
    assert quoted(given[0]).count("\n") > given[0].count("\n")
    assert note_in(f"Dear colleague,\n\nsee below.\n\n{quoted(given[0])}> > \n> Regards\n") == note
    assert (
        note_in("".join(f"{one}\n" for line in given[0].splitlines() for one in wrapped(line)))
        == note
    )
    assert note_in(f"{given[0]}\nKind regards") == note


@pytest.mark.parametrize("cte", ["quoted-printable", "base64", "8bit"])
def test_a_note_is_found_in_a_saved_mail_however_it_was_encoded(given, cte):
    """Encodings of RFC 2045, written by Python's `email`; and in a mail that another forwards."""
    note = read_note(given[0])
    saved = mail(f"Siehe unten, größer als =3D.\n\n{given[0]}\nGrüße\n", cte)
    if cte != "8bit":
        assert given[0].encode().replace(b"\n", b"\r\n") not in saved
    assert note_in(saved) == note
    inner = email.message_from_bytes(saved, policy=email.policy.SMTP)
    assert note_in(mail("See the mail below.\n", "7bit", inner)) == note


def test_the_same_note_twice_is_one_and_two_that_differ_are_told(given):
    text, other = given[0], given[0].replace("number ", "number 1")
    assert note_in(f"{text}\n{quoted(text)}") == read_note(text)
    for both in (f"{text}\n{other}", f"{text}\n{quoted(other)}"):
        with pytest.raises(NoteError, match="2 different") as caught:
            note_in(both)
        assert caught.value.several
    # A broken one beside a whole one is no second note.
    assert note_in("\n".join([*text.split("\n")[:4], "", text])) == read_note(text)


@pytest.mark.parametrize("data", [
    b"Content-Type: text/plain; charset=nothing\nContent-Transfer-Encoding: base64\n\n%%%%",
    b"Content-Type: multipart/mixed; boundary=a\n\n" + b"--a\n" * 3000,
    b"countershade checkpoint 1\nchain\n" * 20_000, b"From: a\n" * 20_000,
    b"\xff\xfe" * 500, b"countershade checkpoint 1\n" * 20_000,
    b"Content-Type: multipart/mixed; boundary=a\n\n--a\n" * 3000,
], ids=range(7))  # fmt: skip
def test_a_mail_that_cannot_be_taken_apart_holds_no_note(data):
    with pytest.raises(NoteError):
        note_in(data)


def test_parts_within_parts_by_the_thousand_are_not_taken_apart(given, monkeypatch):
    """A mail of one part inside the other cost seconds; a note that stands in it is read."""

    def taken_apart(_data):
        raise AssertionError("the mail was parsed")

    monkeypatch.setattr("ledger.verify.found.email.message_from_bytes", taken_apart)
    level = 'Content-Type: multipart/mixed; boundary="b"\n\n--b\n' * 15_000
    with pytest.raises(NoteError, match="no checkpoint note"):
        note_in(level)
    assert note_in(level + given[0]) == read_note(given[0])
