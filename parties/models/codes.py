"""Codes that stand for people and firms in a chain: one dossier's, never used again."""

from __future__ import annotations

from django.db import models

from parties.models.dossiers import Dossier


class Code(models.Model):
    """`code` stands for `key` in one dossier. Rows are never changed or removed.

    `key` says what is meant without a name: `sitter:<person id>`, `seat:<organisation id>`,
    `observer:<register key>`.
    """

    dossier = models.ForeignKey(Dossier, on_delete=models.PROTECT, related_name="codes")
    key = models.CharField(max_length=80)
    code = models.CharField(max_length=16)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["dossier", "key"], name="code_key_once"),
            models.UniqueConstraint(fields=["dossier", "code"], name="code_never_reused"),
        ]

    def __str__(self) -> str:
        return self.code
