"""What a verification found: findings, checks, the report and its exit codes."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import Any

VERIFIED, REFUSED, USAGE, UNPROVEN, NOT_EXTENDING = 0, 1, 2, 3, 4


@dataclass(frozen=True)
class Finding:
    """Why a record is refused, and where: member, field, and bytes [offset, offset + length).

    A finding about a note (member "note") names its line in `field` and no offset.
    """

    id: str
    message: str
    member: str = ""
    field: str = ""
    offset: int | None = None
    length: int | None = None

    def __str__(self) -> str:
        place = [f"member {self.member}" if self.member else "", self.field]
        if self.offset is not None:
            place.append(f"byte {self.offset}")
            if self.length and self.length > 1:
                place[-1] += f" (of {self.length} bytes)"
        where = ", ".join(part for part in place if part)
        return f"{self.message} [{where}]" if where else self.message


class Refusal(Exception):
    """Ends the verification; `offset` is relative to the content that was read until `at`."""

    def __init__(
        self,
        id: str,
        message: str,
        *,
        member: str = "",
        field: str = "",
        offset: int | None = None,
        length: int | None = None,
    ) -> None:
        super().__init__(message)
        self.finding = Finding(id, message, member, field, offset, length)

    def at(self, member: str, offset: int, length: int, field: str = "") -> Refusal:
        """The same refusal placed in the file: the content began at `offset`, had `length`."""
        inner = self.finding
        start = offset + (inner.offset or 0)
        rest = offset + length - start if inner.length is None else inner.length
        return Refusal(
            inner.id,
            inner.message,
            member=inner.member or member,
            field=inner.field or field,
            offset=start,
            length=rest,
        )


@dataclass
class Check:
    """One numbered check: what it proves and what the reader still has to trust.

    `status`: passed, refused, not asked (the reader gave nothing to check against; `proves` then
    says so), or not reached (after a refusal).
    """

    number: int
    id: str
    title: str
    proves: str
    trusts: str
    status: str = "not reached"


@dataclass
class Report:
    """The outcome of verifying one record."""

    path: str
    outcome: str = "refused"  # verified | unproven | refused
    exit_code: int = REFUSED
    form: str = ""  # whole | part
    about: str = ""  # what a part is about
    chain: str = ""
    entries: int = 0
    withheld: int = 0  # entries whose payload is withheld (a part) or was erased
    erased: int = 0
    head: str = ""
    root: str = ""
    checkpoint_time: str = ""
    checks: list[Check] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    signatures: list[dict[str, Any]] = field(default_factory=list)
    signatures_withheld: int = 0
    not_asked: list[str] = field(default_factory=list)  # ids of checks
    still_to_trust: list[str] = field(default_factory=list)  # sentences; empty when refused

    def as_dict(self) -> dict[str, Any]:
        """Plain values for `--json`."""
        return asdict(self)
