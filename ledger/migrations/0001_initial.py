
from django.db import migrations, models

from ledger.operations import AppendOnly, ForwardOnly


class Migration(migrations.Migration):

    initial = True

    dependencies = [
    ]

    operations = [
        migrations.CreateModel(
            name='ChainHead',
            fields=[
                ('chain', models.CharField(max_length=64, primary_key=True, serialize=False)),
                ('number', models.PositiveBigIntegerField(default=0)),
                ('hash', models.CharField(max_length=64)),
            ],
            options={
                'db_table': 'ledger_head',
            },
        ),
        migrations.CreateModel(
            name='Blob',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('chain', models.CharField(max_length=64)),
                ('digest', models.CharField(max_length=64)),
                ('size', models.PositiveBigIntegerField()),
                ('media_type', models.CharField(max_length=120)),
                ('stored_at', models.DateTimeField()),
            ],
            options={
                'db_table': 'ledger_blob',
                'ordering': ['chain', 'digest'],
                'constraints': [models.UniqueConstraint(fields=('chain', 'digest'), name='ledger_blob_once')],
            },
        ),
        migrations.CreateModel(
            name='Entry',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('chain', models.CharField(max_length=64)),
                ('number', models.PositiveBigIntegerField()),
                ('time', models.DateTimeField()),
                ('actor', models.CharField(max_length=64)),
                ('organisation', models.CharField(max_length=64)),
                ('side', models.CharField(max_length=64)),
                ('role', models.CharField(max_length=64)),
                ('kind', models.CharField(max_length=64)),
                ('subject', models.CharField(max_length=120)),
                ('act', models.CharField(max_length=64)),
                ('hash', models.CharField(max_length=64, unique=True)),
                ('previous', models.CharField(max_length=64)),
                ('header_bytes', models.BinaryField()),
                ('payload_bytes', models.BinaryField()),
                ('salt', models.BinaryField()),
            ],
            options={
                'db_table': 'ledger_entry',
                'ordering': ['chain', 'number'],
                'indexes': [models.Index(fields=['chain', 'subject'], name='ledger_entry_subject')],
                'constraints': [models.UniqueConstraint(fields=('chain', 'number'), name='ledger_entry_number'), models.UniqueConstraint(fields=('chain', 'previous'), name='ledger_entry_previous'), models.UniqueConstraint(fields=('chain', 'act', 'kind', 'subject'), name='ledger_entry_once_per_act')],
            },
        ),
        AppendOnly("Entry"),
        AppendOnly("Blob"),
        ForwardOnly("ChainHead", counter="number", columns=["chain"]),
    ]
