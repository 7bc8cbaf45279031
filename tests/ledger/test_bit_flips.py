"""Every single flipped bit of a record is found and placed, wherever it lies."""

import random

import pytest


@pytest.mark.parametrize("rooted", [True, False])
def test_a_flipped_bit_is_found_and_named_with_member_or_field_and_offset(small, judge, rooted):
    record = small.record()
    fingerprint = small.fingerprint if rooted else None
    assert judge(record, fingerprint).findings == []
    for seed in range(100):
        bit = random.Random(seed).randrange(len(record) * 8)
        flipped = bytearray(record)
        flipped[bit // 8] ^= 1 << bit % 8
        report = judge(bytes(flipped), fingerprint)
        assert report.exit_code == 1, f"seed {seed}: bit {bit} was not found"
        finding = report.findings[0]
        assert finding.member or finding.field, f"seed {seed}: {finding}"
        assert finding.id not in {"record.unreadable", "file.unreadable"}, f"seed {seed}"
        within = range(finding.offset, finding.offset + finding.length)
        assert bit // 8 in within, f"seed {seed}: byte {bit // 8}, but {finding}"
        # A content is searched for the very byte; a header field is at most a name long.
        assert finding.length == 1 if finding.field == "content" else finding.length <= 70


def test_every_bit_of_the_first_header_manifest_and_of_the_end_is_found(small, judge):
    record = small.record()
    places = [*range(150), *range(len(record) - 120, len(record))]
    for at in places:
        for bit in range(8):
            flipped = bytearray(record)
            flipped[at] ^= 1 << bit
            report = judge(bytes(flipped), small.fingerprint)
            assert report.exit_code == 1, (at, bit)
            finding = report.findings[0]
            assert finding.offset <= at < finding.offset + finding.length, (at, bit, finding)
