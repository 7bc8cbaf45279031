"""JSON calls under `/api/d/<dossier>/`."""

from django.urls import path

from agreements import acts
from agreements.models import Revision
from agreements.papers import progress_of
from parties.acts import act_calls
from parties.states import state_call

app_name = "agreements-api"
urlpatterns = [
    path(
        "revision/<uuid:pk>/progress/",
        state_call(Revision, progress_of),
        name="revision-progress",
    ),
    *act_calls(acts.ALL),
]
