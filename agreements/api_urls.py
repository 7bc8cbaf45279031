"""JSON calls under `/api/d/<dossier>/`."""

from agreements import acts
from parties.acts import act_calls

app_name = "agreements-api"
urlpatterns = act_calls(acts.ALL)
