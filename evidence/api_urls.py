"""JSON calls under /api/d/<dossier>/."""

from evidence.acts import ACTS
from parties.acts import act_calls

app_name = "evidence-api"
urlpatterns = act_calls(ACTS)
