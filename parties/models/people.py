"""People. A person signs in with an e-mail address; observers may have no login at all."""

from __future__ import annotations

import uuid
from typing import Any

from django.conf import settings
from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.utils.translation import gettext_lazy as _


class PersonManager(BaseUserManager["Person"]):
    """Makes people; addresses are compared without case."""

    def create_user(self, email: str, password: str | None = None, **fields: Any) -> Person:
        """A person who can sign in, or one without a usable password."""
        person = self.model(email=self.normal(email), **fields)
        person.set_password(password)
        person.save(using=self._db)
        return person

    def get_by_natural_key(self, username: str | None) -> Person:
        """Look up by address, as the login form gives it."""
        return self.get(email=self.normal(username or ""))

    @staticmethod
    def normal(email: str) -> str:
        """The one spelling under which an address is stored."""
        return email.strip().lower()


class Person(AbstractBaseUser):
    """Somebody who can sign in. What they may do hangs on their seats, never on this row."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    email = models.EmailField(_("e-mail address"), unique=True)
    name = models.CharField(_("name"), max_length=120)
    language = models.CharField(
        _("language"), max_length=16, choices=settings.LANGUAGES, default="en"
    )
    is_active = models.BooleanField(_("may sign in"), default=True)
    created_at = models.DateTimeField(auto_now_add=True)
    # Name and address were taken from this row (parties.transitions.personal).
    erased_at = models.DateTimeField(null=True, blank=True, editable=False)

    objects = PersonManager()

    USERNAME_FIELD = "email"
    REQUIRED_FIELDS = ["name"]

    def __str__(self) -> str:
        return self.name

    def get_full_name(self) -> str:
        """The name, as Django's own pages ask for it."""
        return self.name
