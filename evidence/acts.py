"""What can be done to evidence."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from evidence import forms, transitions
from evidence.models import Document, EvidenceFile, MeasuredSet, RetainedPiece, Sitting
from parties.access import STAFF
from parties.acts import Act
from parties.models import Role

AT_THE_BOOTH = STAFF | {Role.OBSERVER}


DOSSIER_ACTS = [
    Act(
        name="upload",
        title=_("Upload readings"),
        do=transitions.take_file,
        form=forms.UploadForm,
        explain=_("The file stays yours until you hand it in with a submission."),
    ),
    Act(
        name="open-sitting",
        title=_("Begin a booth sitting"),
        do=transitions.open_sitting,
        form=forms.SittingForm,
        explain=_(
            "Judge at the booth first, on paper if you like: a lit screen beside the specimen "
            "spoils adaptation. Booth lamps may emit UV; do not look into them."
        ),
    ),
    Act(
        name="add-document",
        title=_("Add another document"),
        do=transitions.add_document,
        form=forms.DocumentForm,
        explain=_(
            "What the terms make due beside readings and judgements: a service report, a "
            "certificate, photographs, the record of the process."
        ),
        done=_("The document was added."),
    ),
    Act(
        name="retain-piece",
        title=_("Retain a piece under seal"),
        do=transitions.retain_piece,
        form=forms.RetainForm,
        explain=_("One piece and one seal number at a time; keep the piece where both can see it."),
        done=_("The piece is entered as retained."),
    ),
]
FILE_ACTS = [
    Act(
        name="confirm",
        title=_("Confirm how this file is read"),
        do=transitions.confirm_reading,
        form=forms.ReadingForm,
        model=EvidenceFile,
        noun="files",
        template="evidence/confirm.html",
        done=_("The readings are confirmed."),
    ),
    Act(
        name="set-aside",
        title=_("Set this file aside"),
        do=transitions.set_file_aside,
        form=forms.SetAsideForm,
        model=EvidenceFile,
        noun="files",
        explain=_(
            "The wrong file, or one that cannot be read: it is kept and shown with your reason. "
            "Readings confirmed from it are set aside with it and not handed in."
        ),
        done=_("The file is set aside."),
    ),
]
SET_ACTS = [
    Act(
        name="store",
        title=_("Store as the reading of a reference"),
        do=transitions.store_reading,
        form=forms.StoredReadingForm,
        model=MeasuredSet,
        noun="sets",
        explain=_(
            "Lots are compared with a reference's stored reading where the terms say so. A "
            "reference of the agreement is shared: the other side sees the reading."
        ),
        done=_("The reading is stored with the reference."),
    ),
    Act(
        name="set-aside",
        title=_("Set these readings aside"),
        do=transitions.set_aside,
        form=forms.SetAsideForm,
        model=MeasuredSet,
        noun="sets",
        explain=_("They are kept and shown with your reason, but not handed in."),
    ),
]
SITTING_ACTS = [
    Act(
        name="judge",
        title=_("Enter judgements"),
        do=transitions.judge_specimens,
        form=forms.JudgingForm,
        model=Sitting,
        noun="sittings",
        roles=AT_THE_BOOTH,
        template="evidence/judge.html",
        explain=_("What an observer has said stands: a slip is mended by a new sitting."),
        done=_("The judgements are recorded."),
    ),
    Act(
        name="set-aside",
        title=_("Set this sitting aside"),
        do=transitions.set_aside,
        form=forms.SetAsideForm,
        model=Sitting,
        noun="sittings",
        explain=_("It is kept and shown with your reason, but not handed in."),
    ),
]
DOCUMENT_ACTS = [
    Act(
        name="set-aside",
        title=_("Set this document aside"),
        do=transitions.set_aside,
        form=forms.SetAsideForm,
        model=Document,
        noun="documents",
        explain=_("The document is kept and shown with your reason, but not handed in."),
    ),
]
PIECE_ACTS = [
    Act(
        name="set-aside",
        title=_("Set this piece aside"),
        do=transitions.set_aside,
        form=forms.SetAsideForm,
        model=RetainedPiece,
        noun="pieces",
        explain=_("The entry is kept and shown with your reason, but not handed in."),
    ),
]
ACTS = [
    *DOSSIER_ACTS,
    *FILE_ACTS,
    *SET_ACTS,
    *SITTING_ACTS,
    *DOCUMENT_ACTS,
    *PIECE_ACTS,
]
