
import django.db.models.deletion
import ledger.clock
import uuid
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('parties', '0001_initial'),
        ('shipments', '0001_initial'),
    ]

    operations = [
        migrations.CreateModel(
            name='Dispute',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('side_only', models.CharField(blank=True, default='', max_length=16)),
                ('released_at', models.DateTimeField(blank=True, null=True)),
                ('created_at', models.DateTimeField(default=ledger.clock.now, editable=False)),
                ('number', models.PositiveIntegerField(verbose_name='number')),
                ('grounds', models.JSONField(default=list)),
                ('contained', models.JSONField(default=dict)),
                ('text', models.TextField(verbose_name='statement')),
                ('raised_by', models.CharField(max_length=16)),
                ('status', models.CharField(choices=[('raised', 'raised'), ('answered', 'answered'), ('examining', 'being examined'), ('remedy_offered', 'remedy offered'), ('settled', 'settled'), ('withdrawn', 'withdrawn')], default='raised', max_length=16)),
                ('answer_due', models.DateField(blank=True, null=True, verbose_name='answer due')),
                ('examination_due', models.DateField(blank=True, null=True, verbose_name='examination ends')),
                ('dossier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='parties.dossier')),
                ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='disputes', to='shipments.lot')),
                ('rejection', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='dispute', to='shipments.submission')),
            ],
        ),
        migrations.CreateModel(
            name='Note',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('side_only', models.CharField(blank=True, default='', max_length=16)),
                ('released_at', models.DateTimeField(blank=True, null=True)),
                ('created_at', models.DateTimeField(default=ledger.clock.now, editable=False)),
                ('author', models.CharField(max_length=16)),
                ('text', models.TextField(verbose_name='note')),
                ('dispute', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='notes', to='disputes.dispute')),
                ('dossier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='parties.dossier')),
            ],
        ),
        migrations.CreateModel(
            name='Offer',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('side_only', models.CharField(blank=True, default='', max_length=16)),
                ('released_at', models.DateTimeField(blank=True, null=True)),
                ('created_at', models.DateTimeField(default=ledger.clock.now, editable=False)),
                ('number', models.PositiveIntegerField(verbose_name='number')),
                ('side', models.CharField(max_length=16)),
                ('author', models.CharField(max_length=16)),
                ('remedy', models.CharField(max_length=20, verbose_name='remedy')),
                ('text', models.TextField(verbose_name='terms of the settlement')),
                ('bytes', models.BinaryField()),
                ('digest', models.CharField(max_length=64)),
                ('status', models.CharField(choices=[('open', 'open'), ('declined', 'declined'), ('replaced', 'replaced by a later offer'), ('signed_by_one', 'signed by one'), ('settled', 'signed by both')], default='open', max_length=16)),
                ('first_signer', models.CharField(blank=True, default='', max_length=16)),
                ('dispute', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='offers', to='disputes.dispute')),
                ('dossier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='parties.dossier')),
            ],
        ),
        migrations.CreateModel(
            name='Post',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('side_only', models.CharField(blank=True, default='', max_length=16)),
                ('released_at', models.DateTimeField(blank=True, null=True)),
                ('created_at', models.DateTimeField(default=ledger.clock.now, editable=False)),
                ('side', models.CharField(max_length=16)),
                ('author', models.CharField(max_length=16)),
                ('kind', models.CharField(choices=[('statement', 'statement'), ('answer', 'answer to the rejection')], default='statement', max_length=16)),
                ('text', models.TextField(verbose_name='statement')),
                ('files', models.JSONField(default=list)),
                ('struck_at', models.DateTimeField(blank=True, null=True)),
                ('struck_by', models.CharField(blank=True, default='', max_length=16)),
                ('struck_reason', models.TextField(blank=True, default='')),
                ('dispute', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='posts', to='disputes.dispute')),
                ('dossier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='parties.dossier')),
            ],
        ),
        migrations.AddConstraint(
            model_name='dispute',
            constraint=models.UniqueConstraint(fields=('dossier', 'number'), name='dispute_number_once'),
        ),
        migrations.AddConstraint(
            model_name='dispute',
            constraint=models.CheckConstraint(condition=models.Q(('status__in', ['raised', 'answered', 'examining', 'remedy_offered', 'settled', 'withdrawn'])), name='dispute_status_known'),
        ),
        migrations.AddConstraint(
            model_name='note',
            constraint=models.CheckConstraint(condition=models.Q(('released_at__isnull', True), ('side_only__in', ['customer', 'supplier'])), name='note_stays_private'),
        ),
        migrations.AddConstraint(
            model_name='offer',
            constraint=models.UniqueConstraint(fields=('dispute', 'number'), name='offer_number_once'),
        ),
        migrations.AddConstraint(
            model_name='offer',
            constraint=models.UniqueConstraint(condition=models.Q(('status__in', ['open', 'signed_by_one'])), fields=('dispute',), name='offer_one_open'),
        ),
        migrations.AddConstraint(
            model_name='offer',
            constraint=models.CheckConstraint(condition=models.Q(('side__in', ['customer', 'supplier'])), name='offer_by_a_party'),
        ),
        migrations.AddConstraint(
            model_name='offer',
            constraint=models.CheckConstraint(condition=models.Q(('status__in', ['open', 'declined', 'replaced', 'signed_by_one', 'settled'])), name='offer_status_known'),
        ),
        migrations.AddConstraint(
            model_name='post',
            constraint=models.CheckConstraint(condition=models.Q(('side__in', ['customer', 'supplier'])), name='post_by_a_party'),
        ),
        migrations.AddConstraint(
            model_name='post',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('struck_at__isnull', True), ('struck_reason', '')), models.Q(('struck_at__isnull', False), models.Q(('struck_reason', ''), _negated=True)), _connector='OR'), name='post_struck_with_reason'),
        ),
    ]
