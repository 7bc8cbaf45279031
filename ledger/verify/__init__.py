"""Offline verification of a signed record: Python's standard library and `cryptography` only.

Nothing of the server is imported, so that this folder can be published and read apart from it.
Never run a verifier that came inside, or together with, the record it is to judge.
"""

from __future__ import annotations

from ledger.verify.checks import verify
from ledger.verify.report import Check, Finding, Report

__all__ = ["Check", "Finding", "Report", "verify"]
