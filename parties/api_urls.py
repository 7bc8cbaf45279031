"""JSON calls under /api/d/<dossier>/."""

from parties import key_acts, people_acts, personal_acts, register_acts, seal_acts
from parties.acts import act_calls

app_name = "parties-api"
urlpatterns = act_calls(
    [*register_acts.ACTS, *people_acts.ACTS, *personal_acts.ACTS, *seal_acts.ACTS, *key_acts.ACTS]
)
