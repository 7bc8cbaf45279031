"""A sealed PDF is made once and stands."""

from django.db import migrations

from ledger.operations import AppendOnly


class Migration(migrations.Migration):
    dependencies = [("agreements", "0003_papers")]

    operations = [AppendOnly("TermsPaper")]
