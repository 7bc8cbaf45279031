"""Tables of drafts, revisions, remarks and the agreement's standing."""

from agreements.models.drafts import Draft
from agreements.models.papers import TermsPaper
from agreements.models.revisions import Naming, Revision
from agreements.models.sayings import Remark, Standing

__all__ = ["Draft", "Naming", "Remark", "Revision", "Standing", "TermsPaper"]
