"""Forms of the acts on drafts, revisions and the agreement."""

from agreements.forms.clauses import ClauseForm, HeadingForm, ItemForm, RemoveItemForm
from agreements.forms.contexts import clause_context, sign_context
from agreements.forms.edits import PlainDraftForm, PutForwardForm
from agreements.forms.moves import (
    AgreeForm,
    ReasonForm,
    RemarkForm,
    SignForm,
    StandingForm,
    StartForm,
    TakeUpForm,
)
from agreements.forms.parts import OwnValueForm, PartForm, RemovePartForm, SharedValueForm

__all__ = [
    "AgreeForm",
    "ClauseForm",
    "HeadingForm",
    "ItemForm",
    "OwnValueForm",
    "PartForm",
    "PlainDraftForm",
    "PutForwardForm",
    "ReasonForm",
    "RemarkForm",
    "RemoveItemForm",
    "RemovePartForm",
    "SharedValueForm",
    "SignForm",
    "StandingForm",
    "StartForm",
    "TakeUpForm",
    "clause_context",
    "sign_context",
]
