"""Why a submission cannot be judged at all."""

from __future__ import annotations


class JudgeError(ValueError):
    """Bytes that this engine cannot judge: they are damaged, missing or not of its version.

    This is never a verdict: evidence that is merely missing or invalid gives *incomplete*.
    `id` is one of JUDGE_ERRORS.
    """

    def __init__(self, id: str, detail: str) -> None:
        if id not in JUDGE_ERRORS:
            raise KeyError(id)
        super().__init__(f"{id}: {detail}")
        self.id, self.detail = id, detail


JUDGE_ERRORS = frozenset(
    (
        "submission_unreadable",
        "terms_unreadable",
        "terms_unlike",
        "part_unknown",
        "engine_unlike",
        "permission_not_carried",
        "blob_missing",
        "blob_unlike",
        "packed_unreadable",
        "row_unknown",
        "colour_unknown",
    )
)
