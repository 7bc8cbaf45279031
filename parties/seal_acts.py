"""What can be done about a firm's seal: its own certificate, or the installation's."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from parties.access import KEEPERS
from parties.acts import Act
from parties.forms.seals import OwnSealForm
from parties.models import Dossier, Side
from parties.transitions.seals import seal_by_installation, take_own_certificate

FIRM = {"sides": {Side.OWN}, "roles": KEEPERS, "purpose": Dossier.Purpose.REGISTER}

OWN_CERTIFICATE = Act(
    name="own-seal",
    title=_("Seal with your firm's own certificate"),
    do=take_own_certificate,
    form=OwnSealForm,
    explain=_(
        "The service keeps the key encrypted and seals PDFs with it on behalf of your firm from "
        "now on. Whoever runs the service could seal with it too. PDFs sealed before stay as they "
        "are."
    ),
    done=_("Your firm's own certificate seals from now on."),
    **FIRM,
)
INSTALLATION = Act(
    name="installation-seal",
    title=_("Go back to the installation's certificate"),
    do=seal_by_installation,
    explain=_("Your firm's own key is taken out of use. PDFs sealed with it stay as they are."),
    done=_("The installation's certificate seals from now on."),
    **FIRM,
)
ACTS = [OWN_CERTIFICATE, INSTALLATION]
