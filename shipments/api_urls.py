"""JSON calls under /api/d/<dossier>/."""

from django.urls import path

from parties.acts import act_calls
from parties.states import state_call
from shipments.acts import ACTS
from shipments.models import Submission
from shipments.views import progress_of

app_name = "shipments-api"
urlpatterns = [
    path(
        "submissions/<uuid:pk>/progress/",
        state_call(Submission, progress_of),
        name="submission-progress",
    ),
    *act_calls(ACTS),
]
