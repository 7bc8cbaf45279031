
import django.core.validators
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
            name='EvidenceFile',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('side_only', models.CharField(blank=True, default='', max_length=16)),
                ('released_at', models.DateTimeField(blank=True, null=True)),
                ('created_at', models.DateTimeField(default=ledger.clock.now, editable=False)),
                ('subject', models.CharField(blank=True, max_length=80)),
                ('made_by', models.CharField(max_length=16, verbose_name='entered by')),
                ('set_aside_at', models.DateTimeField(blank=True, null=True)),
                ('set_aside_reason', models.CharField(blank=True, max_length=300)),
                ('name', models.CharField(max_length=200, verbose_name='file name')),
                ('digest', models.CharField(max_length=64)),
                ('size', models.PositiveBigIntegerField()),
                ('media_type', models.CharField(max_length=100)),
                ('dossier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='parties.dossier')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='MeasuredSet',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('side_only', models.CharField(blank=True, default='', max_length=16)),
                ('released_at', models.DateTimeField(blank=True, null=True)),
                ('created_at', models.DateTimeField(default=ledger.clock.now, editable=False)),
                ('subject', models.CharField(blank=True, max_length=80)),
                ('made_by', models.CharField(max_length=16, verbose_name='entered by')),
                ('set_aside_at', models.DateTimeField(blank=True, null=True)),
                ('set_aside_reason', models.CharField(blank=True, max_length=300)),
                ('mapping', models.CharField(max_length=64)),
                ('packed', models.CharField(max_length=64)),
                ('rows', models.PositiveIntegerField()),
                ('labels', models.JSONField(default=list)),
                ('wavelengths', models.CharField(max_length=60)),
                ('instrument', models.UUIDField(verbose_name='instrument')),
                ('instrument_name', models.CharField(max_length=120)),
                ('measured_on', models.DateField(verbose_name='measured on')),
                ('zone', models.CharField(max_length=64, verbose_name='time zone')),
                ('condition', models.JSONField(default=dict)),
                ('place', models.CharField(blank=True, max_length=120, verbose_name='place on the piece')),
                ('reference', models.UUIDField(blank=True, null=True, verbose_name='readings of the reference')),
                ('reference_name', models.CharField(blank=True, max_length=200)),
                ('dossier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='parties.dossier')),
                ('file', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='sets', to='evidence.evidencefile')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Sitting',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('side_only', models.CharField(blank=True, default='', max_length=16)),
                ('released_at', models.DateTimeField(blank=True, null=True)),
                ('created_at', models.DateTimeField(default=ledger.clock.now, editable=False)),
                ('subject', models.CharField(blank=True, max_length=80)),
                ('made_by', models.CharField(max_length=16, verbose_name='entered by')),
                ('set_aside_at', models.DateTimeField(blank=True, null=True)),
                ('set_aside_reason', models.CharField(blank=True, max_length=300)),
                ('day', models.DateField(verbose_name='day at the booth')),
                ('zone', models.CharField(max_length=64, verbose_name='time zone')),
                ('booth', models.UUIDField(verbose_name='booth')),
                ('booth_name', models.CharField(max_length=120)),
                ('procedure', models.CharField(choices=[('release_check', 'side by side'), ('blind', 'blind, random order')], default='release_check', max_length=16)),
                ('comparator', models.CharField(choices=[('master', 'master'), ('duplicate', 'duplicate (working standard)'), ('limit_sample', 'limit samples'), ('chip', 'tear-off chip'), ('previous_lot', 'previous lot')], default='master', max_length=16, verbose_name='compared with')),
                ('reference', models.UUIDField(blank=True, null=True, verbose_name='reference')),
                ('reference_name', models.CharField(blank=True, max_length=200)),
                ('chip', models.UUIDField(blank=True, null=True, verbose_name='tear-off chip')),
                ('chip_name', models.CharField(blank=True, max_length=60)),
                ('illuminants', models.JSONField(default=list)),
                ('specimens', models.JSONField(default=list)),
                ('warm_up_minutes', models.PositiveIntegerField(validators=[django.core.validators.MaxValueValidator(600)], verbose_name='lamps warmed up for (minutes)')),
                ('adaptation_minutes', models.PositiveIntegerField(validators=[django.core.validators.MaxValueValidator(600)], verbose_name='observers adapted for (minutes)')),
                ('dossier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='parties.dossier')),
                ('scan', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='evidence.evidencefile')),
            ],
        ),
        migrations.CreateModel(
            name='Judgement',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('side_only', models.CharField(blank=True, default='', max_length=16)),
                ('released_at', models.DateTimeField(blank=True, null=True)),
                ('created_at', models.DateTimeField(default=ledger.clock.now, editable=False)),
                ('observer', models.UUIDField()),
                ('observer_code', models.CharField(max_length=16)),
                ('specimen', models.CharField(max_length=80)),
                ('illuminant', models.CharField(blank=True, max_length=20)),
                ('outcome', models.CharField(choices=[('accept', 'accept'), ('reject', 'reject')], max_length=8)),
                ('directions', models.JSONField(default=list)),
                ('grade', models.CharField(blank=True, max_length=40)),
                ('entered_by', models.CharField(max_length=16)),
                ('entered_by_observer', models.BooleanField()),
                ('dossier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='parties.dossier')),
                ('sitting', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='judgements', to='evidence.sitting')),
            ],
        ),
        migrations.CreateModel(
            name='Document',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('side_only', models.CharField(blank=True, default='', max_length=16)),
                ('released_at', models.DateTimeField(blank=True, null=True)),
                ('created_at', models.DateTimeField(default=ledger.clock.now, editable=False)),
                ('subject', models.CharField(blank=True, max_length=80)),
                ('made_by', models.CharField(max_length=16, verbose_name='entered by')),
                ('set_aside_at', models.DateTimeField(blank=True, null=True)),
                ('set_aside_reason', models.CharField(blank=True, max_length=300)),
                ('answers', models.CharField(choices=[('booth_report', "the booth's service report"), ('calibration_certificate', "the instrument's calibration certificate"), ('photograph', 'photographs'), ('process_record', 'the record of the process')], max_length=32, verbose_name='what it is')),
                ('note', models.CharField(blank=True, max_length=300, verbose_name='note')),
                ('dossier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='parties.dossier')),
                ('file', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='evidence.evidencefile')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('answers__in', ('booth_report', 'calibration_certificate', 'photograph', 'process_record'))), name='document_kind_known')],
            },
        ),
        migrations.CreateModel(
            name='RetainedPiece',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('side_only', models.CharField(blank=True, default='', max_length=16)),
                ('released_at', models.DateTimeField(blank=True, null=True)),
                ('created_at', models.DateTimeField(default=ledger.clock.now, editable=False)),
                ('subject', models.CharField(blank=True, max_length=80)),
                ('made_by', models.CharField(max_length=16, verbose_name='entered by')),
                ('set_aside_at', models.DateTimeField(blank=True, null=True)),
                ('set_aside_reason', models.CharField(blank=True, max_length=300)),
                ('seal', models.CharField(max_length=60, verbose_name='seal number')),
                ('specimen', models.CharField(blank=True, max_length=80, verbose_name='specimen')),
                ('note', models.CharField(blank=True, max_length=300, verbose_name='note')),
                ('dossier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='parties.dossier')),
            ],
            options={
                'constraints': [models.UniqueConstraint(condition=models.Q(('set_aside_at__isnull', True)), fields=('dossier', 'side_only', 'seal'), name='piece_seal_once')],
            },
        ),
        migrations.AddConstraint(
            model_name='sitting',
            constraint=models.CheckConstraint(condition=models.Q(('comparator__in', ['master', 'duplicate', 'limit_sample', 'chip', 'previous_lot'])), name='sitting_comparator_known'),
        ),
        migrations.AddConstraint(
            model_name='judgement',
            constraint=models.UniqueConstraint(fields=('sitting', 'observer', 'specimen', 'illuminant'), name='judgement_once'),
        ),
        migrations.AddConstraint(
            model_name='judgement',
            constraint=models.CheckConstraint(condition=models.Q(('outcome__in', ['accept', 'reject'])), name='judgement_outcome_known'),
        ),
    ]
