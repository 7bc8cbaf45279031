"""Time stamps in seals, by a local authority: `openssl ts -reply`, an implementation not ours."""

from __future__ import annotations

import logging
import socket
import time
from datetime import UTC, datetime, timedelta

import pytest
from asn1crypto import tsp

from jobs.pdfseal import REFUSED, STAMPED, UNASKED, UNREACHABLE, Stamping, certify, inspect
from tests import needs
from tests.pdf.sealing import NOW, Authority, openssl_answers, responder, said
from tests.pdf.test_seals import pdfsig

STAMPS = Authority("Invented stamp root")


@pytest.fixture(scope="module")
def authority() -> Authority:
    return Authority()


@pytest.fixture(scope="module")
def pages() -> bytes:
    """The smallest PDF will do: nothing of it is looked at."""
    from tests.pdf.test_seals import other_page

    return other_page()


@pytest.fixture
def answers(tmp_path):
    return openssl_answers(needs.program("openssl", "openssl"), tmp_path, STAMPS)


def sealed(pages, authority, stamping: Stamping, at=NOW):
    return certify(pages, authority.signer("Service"), said("Service", at), stamping=stamping)


def closed_port() -> str:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return f"http://127.0.0.1:{probe.getsockname()[1]}/"


def test_a_seal_carries_the_authoritys_time(pages, authority, answers, tmp_path):
    with responder(answers) as url:
        made = sealed(pages, authority, Stamping(url, (STAMPS.der,)))
    assert made.stamp == STAMPED
    (found,) = inspect(made.pdf, [authority.der], stamp_roots=[STAMPS.der])
    assert found.holds and found.stamped_at is not None
    assert abs(found.stamped_at - datetime.now(UTC)) < timedelta(minutes=5)
    assert pdfsig(tmp_path, made.pdf).count("Signature is Valid.") == 1


def test_without_roots_a_stamp_is_kept_and_under_another_root_it_does_not_hold(
    pages, authority, answers
):
    with responder(answers) as url:
        made = sealed(pages, authority, Stamping(url))
        other = sealed(pages, authority, Stamping(url, (Authority().der,)))
    assert made.stamp == STAMPED
    (found,) = inspect(made.pdf, [authority.der])
    assert found.holds and found.stamped_at is not None
    (found,) = inspect(made.pdf, [authority.der], stamp_roots=[Authority().der])
    assert not found.holds and found.stamped_at is None
    assert other.stamp == REFUSED
    (found,) = inspect(other.pdf, [authority.der])
    assert found.holds and found.stamped_at is None


def test_a_stamp_tells_when_the_seals_own_time_is_false(pages, authority, answers):
    """The certificate had ended when the seal was made; the seal says an earlier time."""
    signer = authority.signer("Service", start=NOW - timedelta(days=20), days=10)
    past = NOW - timedelta(days=15)
    with responder(answers) as url:
        made = certify(pages, signer, said("Service", past), stamping=Stamping(url, (STAMPS.der,)))
    (believed,) = inspect(made.pdf, [authority.der])
    assert believed.holds and believed.at == past
    (found,) = inspect(made.pdf, [authority.der], stamp_roots=[STAMPS.der])
    assert not found.holds and not found.trusted


def other_digest(answers):
    """An honest authority asked for something else: its answer is a stamp, but not for this."""

    def answer(query: bytes) -> bytes:
        asked = tsp.TimeStampReq.load(query)
        asked["message_imprint"]["hashed_message"] = bytes(32)
        return answers(asked.dump(force=True))

    return answer


def altered(answers):
    """The last byte of the authority's signature is another."""

    def answer(query: bytes) -> bytes:
        reply = bytearray(answers(query))
        reply[-1] ^= 1
        return bytes(reply)

    return answer


HOSTILE = {
    "nothing": lambda _answers: lambda _query: b"",
    "a page": lambda _answers: lambda _query: b"<html>busy</html>",
    "a refusal": lambda _answers: (
        lambda _query: tsp.TimeStampResp({"status": {"status": "rejection"}}).dump()
    ),
    "granted without a token": lambda _answers: (
        lambda _query: tsp.TimeStampResp({"status": {"status": "granted"}}).dump()
    ),
    "too much": lambda _answers: lambda _query: b"\x30" * 10**6,
    "a stamp for something else": other_digest,
    "an altered stamp": altered,
}


@pytest.mark.parametrize("what", HOSTILE)
def test_an_answer_that_is_no_stamp_for_this_is_left_out(pages, authority, answers, what):
    with responder(HOSTILE[what](answers)) as url:
        stamping = Stamping(url)
        made = sealed(pages, authority, stamping)
    assert made.stamp == REFUSED == stamping.failed
    (found,) = inspect(made.pdf, [authority.der])
    assert found.holds and found.stamped_at is None


@pytest.mark.parametrize("status", [302, 404, 500])
def test_an_authority_that_sends_elsewhere_or_fails_is_not_followed(pages, authority, status):
    asked = []
    with (
        responder(lambda query: asked.append(query) or b"") as other,
        responder(lambda _query: b"", status=status, to=other) as url,
    ):
        made = sealed(pages, authority, Stamping(url))
    assert made.stamp == UNREACHABLE and not asked


def test_an_authority_that_cannot_be_reached_is_asked_once_and_blocks_nothing(
    pages, authority, caplog
):
    stamping = Stamping(closed_port(), seconds=2)
    with caplog.at_level(logging.DEBUG):
        first = sealed(pages, authority, stamping)
    began = time.monotonic()
    second = sealed(pages, authority, stamping)
    assert time.monotonic() - began < 1
    assert first.stamp == second.stamp == UNREACHABLE
    assert all(one.holds for one in inspect(first.pdf, [authority.der]))
    assert certify(pages, authority.signer("Service"), said("Service")).stamp == UNASKED


def test_a_silent_authority_is_given_up_after_its_time(pages, authority):
    with socket.create_server(("127.0.0.1", 0)) as silent:
        url = f"http://127.0.0.1:{silent.getsockname()[1]}/"
        began = time.monotonic()
        made = sealed(pages, authority, Stamping(url, seconds=0.5))
    assert made.stamp == UNREACHABLE and time.monotonic() - began < 4
