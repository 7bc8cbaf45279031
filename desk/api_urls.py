"""JSON calls under /api/d/<dossier>/."""

from django.urls import path

from desk.acts import ACTS
from desk.models import RecordCopy
from desk.records import EXPORT
from jobs import queue
from parties.acts import act_calls
from parties.states import job_state, state_call

app_name = "desk-api"
urlpatterns = [
    path(
        "record/<uuid:pk>/progress/",
        state_call(RecordCopy, lambda copy: job_state(queue.latest(EXPORT, copy.subject))),
        name="copy-progress",
    ),
    *act_calls(ACTS),
]
