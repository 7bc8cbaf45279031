"""A side's work through the real pages: every step a form that is posted."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import resolve, reverse

from evidence.models import EvidenceFile, Sitting
from parties.models import Observer
from shipments.models import Lot
from tests.world import World, csv, curve

LABELS = ["1", "2", "3"]


@dataclass
class Desk:
    """One person at the pages of the agreement; `key` is their firm's ("supp" or "cust")."""

    world: World
    client: Client
    key: str = "supp"
    kwargs: dict[str, Any] = field(init=False)

    def __post_init__(self) -> None:
        self.kwargs = {"dossier": self.world.cast.agreement.pk}

    def post(self, name: str, sent: dict[str, Any], obj: Any = None) -> Any:
        """Post a form; it must be taken. Gives the address of the next page."""
        kwargs = self.kwargs | ({"pk": obj.pk} if obj else {})
        answer = self.client.post(reverse(name, kwargs=kwargs), sent)
        errors = answer.context["form"].errors if answer.status_code == 422 else answer
        assert answer.status_code == 302, errors
        assert self.client.get(answer["Location"]).status_code == 200
        return answer["Location"]

    def open_lot(self, number: str = "L-1") -> Lot:
        """Open a lot."""
        sent = {
            "number": number,
            "order": f"PO-{number}",
            "accepted_on": self.world.today.isoformat(),
            "part": self.world.part(),
            "quantity": "100",
        }
        place = resolve(self.post("shipments:open-lot", sent))
        return Lot.objects.get(pk=place.kwargs["pk"])

    def measure(self, what: Any, shift: float) -> None:
        """Upload three readings and confirm how they are read."""
        rows = [(label, curve(shift + 0.0001 * n)) for n, label in enumerate(LABELS)]
        upload = SimpleUploadedFile("readings.csv", csv(rows), "text/csv")
        place = resolve(self.post("evidence:upload", {"upload": upload, "subject": what.subject}))
        file = EvidenceFile.objects.get(pk=place.kwargs["pk"])
        sent = {
            "answer_scale": "factor",
            "instrument": self.world.instruments[self.key].pk,
            "measured_on": self.world.today.isoformat(),
            "zone": "Europe/Berlin",
            "geometry": "di:8",
            "uv": "included",
            "backing": "white",
            "aperture": "8",
            "temperature_c": "23",
            "age_hours": "48",
            "hours_since_white": "1",
        }
        self.post("evidence:files-confirm", sent, file)

    def open_sitting(self, what: Any) -> Sitting:
        """Begin a sitting over three specimens."""
        sent = {
            "subject": what.subject,
            "day": self.world.today.isoformat(),
            "booth": self.world.booths[self.key].pk,
            "procedure": "release_check",
            "comparator": "master",
            "reference": self.world.master.pk,
            "illuminants": ["D65", "A", "F11"],
            "specimens": "\n".join(LABELS),
            "warm_up_minutes": "30",
            "adaptation_minutes": "5",
        }
        place = resolve(self.post("evidence:open-sitting", sent))
        return Sitting.objects.get(pk=place.kwargs["pk"])

    def judge(self, sitting: Sitting, observer: Observer, outcome: str) -> None:
        """Enter one observer's word on every specimen."""
        sent = {"observer": observer.pk}
        sent |= {f"outcome_{n}": outcome for n in range(len(LABELS))}
        if outcome == "reject":
            sent |= {f"directions_{n}": ["darker"] for n in range(len(LABELS))}
        self.post("evidence:sittings-judge", sent, sitting)

    def hand_in(self, lot: Lot) -> None:
        """Hand the evidence in."""
        self.post("shipments:lots-submit", {"note": ""}, lot)
