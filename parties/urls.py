"""Pages of accounts, people and registers; those of a dossier under /d/<dossier>/."""

from django.urls import include, path

from parties import key_acts, people_acts, personal_acts, register_acts, seal_acts
from parties.acts import act_pages
from parties.views import (
    account,
    checks,
    installation,
    keys,
    looks,
    people,
    personal,
    registers,
    seals,
    words,
)

app_name = "parties"

of_dossier = [
    path("register/", registers.register, name="register"),
    path("people/", people.people, name="people"),
    path("keys/", keys.keys, name="keys"),
    path("personal/", personal.personal, name="personal"),
    path("seal/", seals.seal, name="seal"),
    path("observers/", registers.observers, name="observers"),
    path("booths/", registers.booths, name="booths"),
    path("instruments/", registers.instruments, name="instruments"),
    path("references/", registers.references, name="references"),
    path("observer/<uuid:pk>/", registers.observer, name="observer"),
    path("observer/<uuid:pk>/scan/", registers.scan, name="observer-scan"),
    path("booth/<uuid:pk>/", registers.booth, name="booth"),
    path("instrument/<uuid:pk>/", registers.instrument, name="instrument"),
    path("reference/<uuid:pk>/", registers.reference, name="reference"),
    *act_pages(
        [
            *register_acts.ACTS,
            *people_acts.ACTS,
            *personal_acts.ACTS,
            *seal_acts.ACTS,
            *key_acts.ACTS,
        ]
    ),
]
urlpatterns = [
    path("account/", account.account, name="account"),
    path("account/booth-device/", keys.booth_device, name="booth-device"),
    path("invitations/<str:token>/", account.accept, name="accept"),
    path("checks/", checks.checks, name="checks"),
    path("screen/", looks.set_theme, name="theme"),
    path("installation/", installation.installation, name="installation"),
    path("installation/root.der", installation.certificate, name="root-certificate"),
    path("words/", words.words, name="words"),
    path("d/<uuid:dossier>/", include(of_dossier)),
]
