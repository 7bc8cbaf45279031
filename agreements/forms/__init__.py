"""Forms of the acts on drafts, revisions and the agreement."""

from agreements.forms.contexts import clause_context, sign_context
from agreements.forms.drafting import (
    ClauseForm,
    HeadingForm,
    ItemForm,
    OwnValueForm,
    PartForm,
    PlainDraftForm,
    PutForwardForm,
    RemoveItemForm,
    RemovePartForm,
    SharedValueForm,
)
from agreements.forms.moves import (
    AgreeForm,
    ReasonForm,
    RemarkForm,
    SignForm,
    StandingForm,
    StartForm,
    TakeUpForm,
)

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
