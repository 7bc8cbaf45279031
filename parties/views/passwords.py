"""Django's password views with our forms."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.views import PasswordChangeView

from parties.forms.people import OwnPasswordForm


class OwnPasswordView(PasswordChangeView):
    """The form needs the request: it throttles the old password as a login is."""

    form_class = OwnPasswordForm
    template_name = "parties/password_change.html"

    def get_form_kwargs(self) -> dict[str, Any]:
        """Pass the request on."""
        return {**super().get_form_kwargs(), "request": self.request}
