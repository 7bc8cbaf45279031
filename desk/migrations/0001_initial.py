
import django.db.models.deletion
import ledger.clock
import uuid
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('parties', '0001_initial'),
    ]

    operations = [
        migrations.CreateModel(
            name='RecordCopy',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('side_only', models.CharField(blank=True, default='', max_length=16)),
                ('released_at', models.DateTimeField(blank=True, null=True)),
                ('created_at', models.DateTimeField(default=ledger.clock.now, editable=False)),
                ('made_by', models.CharField(max_length=16)),
                ('number', models.PositiveBigIntegerField(verbose_name='entries')),
                ('hash', models.CharField(max_length=64)),
                ('size', models.PositiveBigIntegerField(null=True)),
                ('digest', models.CharField(blank=True, default='', max_length=64)),
                ('dossier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='parties.dossier')),
            ],
            options={
                'abstract': False,
            },
        ),
    ]
