"""The draft check: what would keep terms from being judged by, and what experience warns of."""

from method.terms.draft.check import draft_check
from method.terms.draft.finding import Finding, Severity

__all__ = ["Finding", "Severity", "draft_check"]
