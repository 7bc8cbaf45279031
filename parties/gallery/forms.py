"""A form with each sort of field, and files as they were understood."""

from __future__ import annotations

from types import SimpleNamespace as Sample
from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from parties.forms import CleanForm
from parties.gallery import invented


class SampleForm(CleanForm):
    """A field of the terms with unit, help and source; plain, long, disabled; choices."""

    limit = forms.DecimalField(
        label=_("Limit of the colour difference"),
        help_text=_("Compared on printed decimals; at most 5."),
        max_value=5,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "size": 12}),
    )
    name = forms.CharField(label=_("Name of the part"))
    remark = forms.CharField(label=_("Remark"), required=False, widget=forms.Textarea)
    light = forms.ChoiceField(label=_("Light"), widget=forms.RadioSelect)
    settled = forms.CharField(
        label=_("Part and colour"),
        required=False,
        disabled=True,
        help_text=_("Settled by the signed terms; it cannot be changed here."),
    )
    nothing = forms.ChoiceField(
        label=_("Booth"),
        required=False,
        help_text=_("No booth is registered yet: register one first."),
        disabled=True,
    )

    def __init__(self, *args: Any, **kwargs: Any):
        super().__init__(*args, **kwargs)
        limit: Any = self.fields["limit"]
        limit.unit, limit.suggested = gettext("CIEDE2000 units"), "1.00"
        limit.source, limit.glossary = (
            gettext("common practice, no published source"),
            ["ciede2000"],
        )
        light: Any = self.fields["light"]
        light.choices = [("d65", gettext("illuminant D65")), ("a", invented.long())]
        self.fields["remark"].label = invented.long()
        self.fields["remark"].help_text = invented.long()
        self.initial["settled"] = gettext("Grey housing, colour 4")


class SampleDrop(CleanForm):
    """A file, chosen or dropped."""

    file = forms.FileField(
        label=_("Measurement file"),
        help_text=_("Choose it, or drop it on the frame. It is kept as it is."),
    )


def wrong() -> SampleForm:
    """The form as it comes back with every field that can be wrong."""
    return SampleForm({"limit": "9", "name": "", "light": "", "remark": invented.long()})


def understandings() -> list[tuple[str, Any]]:
    """Files as a reader met them: what is shown, and what was understood of it."""
    said = _said()
    unusable = Sample(
        message=gettext("The file holds colours, but no spectra."),
        mend=gettext("Export it again with the reflectance at each wavelength."),
    )
    looks = [
        Sample(label="P1", ends=["41.2", "43.9"], colour=["68.4", "-0.3", "1.9"]),
        Sample(label=invented.UNBROKEN, ends=["41.0", "44.1"], colour=["68.5", "-0.2", "2.0"]),
    ]
    stated = Sample(
        fields="L* a* b*", stated="D65/10°", mean="0.01", largest="0.03",
        best="D65/10°", best_mean="0.01", best_largest="0.03",
    )  # fmt: skip
    read = Sample(**said, looks=looks, ends=["400 nm", "700 nm"], comparisons=[stated])
    asked = Sample(
        **said,
        looks=looks,
        ends=["400 nm", "700 nm"],
        tables=[gettext("Table 1: 12 rows, 31 columns")],
        oddities=[gettext("Two rows have the same name."), invented.long()],
        questions=[gettext("Is the specular component included or excluded?")],
    )
    return [
        (gettext("Read"), read),
        (gettext("Read, with questions"), asked),
        (gettext("Read, but of no use here"), Sample(**said, unusable=unusable)),
        (gettext("Not read"), Sample(error=_not_read())),
        (gettext("An empty file"), Sample(error=_empty())),
    ]


def _said() -> dict[str, Any]:
    return {
        "facts": [
            Sample(label=gettext("Specimens"), value="12"),
            Sample(label=gettext("Name"), value=invented.UNBROKEN, as_written=True),
        ],
        "condition": [
            Sample(label=gettext("Geometry"), value="45:0"),
            Sample(label=gettext("Aperture"), value="8 mm"),
        ],
    }


def _not_read() -> Any:
    return Sample(
        line=7,
        column=3,
        field="R450",
        message=gettext("Here stands “n/a” where a number is expected."),
        mend=gettext("Measure the specimen again, or take the row out, and upload the file again."),
    )


def _empty() -> Any:
    return Sample(
        message=gettext("The file is empty."),
        mend=gettext("Export it again and look at its size before you upload it."),
    )
