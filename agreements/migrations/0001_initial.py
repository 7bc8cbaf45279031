
import django.db.models.deletion
import django.utils.timezone
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
            name='Revision',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('side_only', models.CharField(blank=True, default='', max_length=16)),
                ('released_at', models.DateTimeField(blank=True, null=True)),
                ('created_at', models.DateTimeField(default=ledger.clock.now, editable=False)),
                ('number', models.PositiveIntegerField(verbose_name='number')),
                ('terms', models.BinaryField(verbose_name='terms')),
                ('digest', models.CharField(max_length=64, verbose_name='digest')),
                ('proposed_by', models.CharField(choices=[('customer', 'customer'), ('supplier', 'supplier'), ('auditor', 'auditor'), ('referee', 'referee'), ('colour_owner', 'colour owner'), ('own', 'own register')], max_length=16)),
                ('note', models.TextField(blank=True, default='', verbose_name='note')),
                ('status', models.CharField(choices=[('proposed', 'proposed'), ('countered', 'countered'), ('agreed', 'agreed'), ('signed_by_one', 'signed by one'), ('signed', 'signed'), ('withdrawn', 'withdrawn')], default='proposed', max_length=16)),
                ('first_signer', models.CharField(blank=True, default='', max_length=16)),
                ('signed_at', models.DateTimeField(blank=True, null=True, verbose_name='signed')),
                ('based_on', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='agreements.revision')),
                ('dossier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='parties.dossier')),
            ],
        ),
        migrations.CreateModel(
            name='Remark',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('side_only', models.CharField(blank=True, default='', max_length=16)),
                ('released_at', models.DateTimeField(blank=True, null=True)),
                ('created_at', models.DateTimeField(default=ledger.clock.now, editable=False)),
                ('clause', models.CharField(max_length=40, verbose_name='clause')),
                ('item', models.CharField(blank=True, default='', max_length=80, verbose_name='item')),
                ('text', models.TextField(verbose_name='remark')),
                ('author', models.CharField(max_length=16)),
                ('side', models.CharField(choices=[('customer', 'customer'), ('supplier', 'supplier'), ('auditor', 'auditor'), ('referee', 'referee'), ('colour_owner', 'colour owner'), ('own', 'own register')], max_length=16)),
                ('struck_at', models.DateTimeField(blank=True, null=True)),
                ('struck_by', models.CharField(blank=True, default='', max_length=16)),
                ('struck_reason', models.TextField(blank=True, default='')),
                ('dossier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='parties.dossier')),
                ('revision', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='remarks', to='agreements.revision')),
            ],
        ),
        migrations.CreateModel(
            name='Naming',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('side_only', models.CharField(blank=True, default='', max_length=16)),
                ('released_at', models.DateTimeField(blank=True, null=True)),
                ('created_at', models.DateTimeField(default=ledger.clock.now, editable=False)),
                ('side', models.CharField(choices=[('customer', 'customer'), ('supplier', 'supplier'), ('auditor', 'auditor'), ('referee', 'referee'), ('colour_owner', 'colour owner'), ('own', 'own register')], max_length=16)),
                ('digest', models.CharField(max_length=64)),
                ('person', models.CharField(max_length=16)),
                ('dossier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='parties.dossier')),
                ('revision', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='namings', to='agreements.revision')),
            ],
        ),
        migrations.CreateModel(
            name='Draft',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('side_only', models.CharField(blank=True, default='', max_length=16)),
                ('released_at', models.DateTimeField(blank=True, null=True)),
                ('created_at', models.DateTimeField(default=ledger.clock.now, editable=False)),
                ('terms', models.BinaryField(verbose_name='terms')),
                ('version', models.PositiveIntegerField(default=1)),
                ('changed_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('dossier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='parties.dossier')),
                ('based_on', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='agreements.revision')),
            ],
        ),
        migrations.CreateModel(
            name='Standing',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('side_only', models.CharField(blank=True, default='', max_length=16)),
                ('released_at', models.DateTimeField(blank=True, null=True)),
                ('created_at', models.DateTimeField(default=ledger.clock.now, editable=False)),
                ('number', models.PositiveIntegerField()),
                ('state', models.CharField(choices=[('suspended', 'suspended'), ('resumed', 'resumed'), ('ended', 'ended')], max_length=16)),
                ('from_day', models.DateField(verbose_name='from')),
                ('reason', models.TextField(verbose_name='reason')),
                ('side', models.CharField(choices=[('customer', 'customer'), ('supplier', 'supplier'), ('auditor', 'auditor'), ('referee', 'referee'), ('colour_owner', 'colour owner'), ('own', 'own register')], max_length=16)),
                ('author', models.CharField(max_length=16)),
                ('dossier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='parties.dossier')),
            ],
        ),
        migrations.AddConstraint(
            model_name='revision',
            constraint=models.UniqueConstraint(fields=('dossier', 'number'), name='revision_number_once'),
        ),
        migrations.AddConstraint(
            model_name='revision',
            constraint=models.UniqueConstraint(condition=models.Q(('status__in', ['proposed', 'agreed', 'signed_by_one'])), fields=('dossier',), name='revision_one_open'),
        ),
        migrations.AddConstraint(
            model_name='revision',
            constraint=models.CheckConstraint(condition=models.Q(('status__in', ['proposed', 'countered', 'agreed', 'signed_by_one', 'signed', 'withdrawn'])), name='revision_status_known'),
        ),
        migrations.AddConstraint(
            model_name='revision',
            constraint=models.CheckConstraint(condition=models.Q(('proposed_by__in', ['customer', 'supplier'])), name='revision_by_a_party'),
        ),
        migrations.AddConstraint(
            model_name='revision',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('first_signer__in', ['customer', 'supplier']), ('signed_at__isnull', False), ('status', 'signed')), models.Q(models.Q(('status', 'signed'), _negated=True), ('signed_at__isnull', True)), _connector='OR'), name='revision_signed_has_time'),
        ),
        migrations.AddConstraint(
            model_name='remark',
            constraint=models.CheckConstraint(condition=models.Q(('side__in', ['customer', 'supplier'])), name='remark_by_a_party'),
        ),
        migrations.AddConstraint(
            model_name='remark',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('struck_at__isnull', True), ('struck_reason', '')), models.Q(('struck_at__isnull', False), models.Q(('struck_reason', ''), _negated=True)), _connector='OR'), name='remark_struck_with_reason'),
        ),
        migrations.AddConstraint(
            model_name='naming',
            constraint=models.UniqueConstraint(fields=('revision', 'side'), name='naming_once_per_side'),
        ),
        migrations.AddConstraint(
            model_name='naming',
            constraint=models.CheckConstraint(condition=models.Q(('side__in', ['customer', 'supplier'])), name='naming_by_a_party'),
        ),
        migrations.AddConstraint(
            model_name='draft',
            constraint=models.UniqueConstraint(fields=('dossier', 'side_only'), name='draft_one_per_side'),
        ),
        migrations.AddConstraint(
            model_name='draft',
            constraint=models.CheckConstraint(condition=models.Q(('side_only__in', ['customer', 'supplier'])), name='draft_of_a_side'),
        ),
        migrations.AddConstraint(
            model_name='draft',
            constraint=models.CheckConstraint(condition=models.Q(('released_at__isnull', True)), name='draft_never_released'),
        ),
        migrations.AddConstraint(
            model_name='standing',
            constraint=models.UniqueConstraint(fields=('dossier', 'number'), name='standing_number_once'),
        ),
        migrations.AddConstraint(
            model_name='standing',
            constraint=models.CheckConstraint(condition=models.Q(('state__in', ['suspended', 'resumed', 'ended'])), name='standing_state_known'),
        ),
        migrations.AddConstraint(
            model_name='standing',
            constraint=models.CheckConstraint(condition=models.Q(('side__in', ['customer', 'supplier'])), name='standing_by_a_party'),
        ),
    ]
