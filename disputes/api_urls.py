"""JSON calls under /api/d/<dossier>/."""

from disputes.acts import ACTS
from parties.acts import act_calls

app_name = "disputes-api"
urlpatterns = act_calls(ACTS)
