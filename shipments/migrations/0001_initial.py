
import django.core.validators
import django.db.models.deletion
import ledger.clock
import uuid
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('agreements', '0001_initial'),
        ('parties', '0001_initial'),
    ]

    operations = [
        migrations.CreateModel(
            name='FirstArticle',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('side_only', models.CharField(blank=True, default='', max_length=16)),
                ('released_at', models.DateTimeField(blank=True, null=True)),
                ('created_at', models.DateTimeField(default=ledger.clock.now, editable=False)),
                ('number', models.CharField(max_length=60, verbose_name='number')),
                ('part', models.CharField(max_length=40, verbose_name='part')),
                ('part_words', models.CharField(max_length=300)),
                ('quantity', models.PositiveIntegerField(validators=[django.core.validators.MinValueValidator(1)], verbose_name='pieces')),
                ('made_on', models.DateField(blank=True, null=True, verbose_name='made on')),
                ('status', models.CharField(choices=[('preparing', 'being prepared'), ('submitted', 'submitted'), ('approved', 'approved'), ('approved_with_limits', 'approved with limits'), ('to_be_corrected', 'to be corrected')], default='preparing', max_length=24)),
                ('decided_at', models.DateTimeField(blank=True, null=True)),
                ('decided_on', models.DateField(blank=True, null=True)),
                ('limit_quantity', models.PositiveIntegerField(blank=True, null=True, verbose_name='pieces at most')),
                ('limit_until', models.DateField(blank=True, null=True, verbose_name='until')),
                ('decision_note', models.TextField(blank=True)),
                ('dossier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='parties.dossier')),
                ('revision', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='agreements.revision')),
            ],
        ),
        migrations.CreateModel(
            name='Lot',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('side_only', models.CharField(blank=True, default='', max_length=16)),
                ('released_at', models.DateTimeField(blank=True, null=True)),
                ('created_at', models.DateTimeField(default=ledger.clock.now, editable=False)),
                ('number', models.CharField(max_length=60, verbose_name='lot number')),
                ('order', models.CharField(max_length=60, verbose_name='order number')),
                ('accepted_on', models.DateField(verbose_name='order accepted on')),
                ('part', models.CharField(max_length=40, verbose_name='part')),
                ('part_words', models.CharField(max_length=300)),
                ('quantity', models.PositiveIntegerField(validators=[django.core.validators.MinValueValidator(1)], verbose_name='pieces')),
                ('made_on', models.DateField(blank=True, null=True, verbose_name='made on')),
                ('status', models.CharField(choices=[('open', 'open'), ('submitted', 'submitted, being judged'), ('judged', 'judged'), ('released', 'released'), ('received', 'received'), ('accepted', 'accepted'), ('rejected', 'rejected'), ('closed', 'closed'), ('withdrawn', 'withdrawn')], default='open', max_length=16)),
                ('left_at', models.DateTimeField(blank=True, null=True, verbose_name='released')),
                ('received_on', models.DateField(blank=True, null=True, verbose_name='received on')),
                ('reject_until', models.DateField(blank=True, null=True, verbose_name='may be rejected until')),
                ('dossier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='parties.dossier')),
                ('revision', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='agreements.revision')),
            ],
        ),
        migrations.CreateModel(
            name='Submission',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('side_only', models.CharField(blank=True, default='', max_length=16)),
                ('released_at', models.DateTimeField(blank=True, null=True)),
                ('created_at', models.DateTimeField(default=ledger.clock.now, editable=False)),
                ('purpose', models.CharField(choices=[('first_article', 'first article'), ('lot', 'release of a lot'), ('rejection', 'rejection')], max_length=16)),
                ('nth', models.PositiveIntegerField()),
                ('side', models.CharField(max_length=16)),
                ('made_by', models.CharField(max_length=16)),
                ('bytes', models.BinaryField()),
                ('digest', models.CharField(max_length=64)),
                ('answers', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='shipments.submission')),
                ('article', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='submissions', to='shipments.firstarticle')),
                ('dossier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='parties.dossier')),
                ('lot', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='submissions', to='shipments.lot')),
                ('revision', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='agreements.revision')),
            ],
        ),
        migrations.CreateModel(
            name='Verdict',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('side_only', models.CharField(blank=True, default='', max_length=16)),
                ('released_at', models.DateTimeField(blank=True, null=True)),
                ('created_at', models.DateTimeField(default=ledger.clock.now, editable=False)),
                ('bytes', models.BinaryField()),
                ('digest', models.CharField(max_length=64)),
                ('outcome', models.CharField(choices=[('conforming', 'conforming'), ('nonconforming', 'nonconforming'), ('inconclusive', 'inconclusive'), ('incomplete', 'incomplete')], max_length=16)),
                ('dossier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='parties.dossier')),
                ('submission', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='verdict', to='shipments.submission')),
            ],
        ),
        migrations.CreateModel(
            name='VerdictPaper',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('side_only', models.CharField(blank=True, default='', max_length=16)),
                ('released_at', models.DateTimeField(blank=True, null=True)),
                ('created_at', models.DateTimeField(default=ledger.clock.now, editable=False)),
                ('language', models.CharField(max_length=16)),
                ('digest', models.CharField(max_length=64)),
                ('size', models.PositiveIntegerField()),
                ('dossier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='parties.dossier')),
                ('verdict', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='papers', to='shipments.verdict')),
            ],
        ),
        migrations.AddConstraint(
            model_name='firstarticle',
            constraint=models.UniqueConstraint(fields=('dossier', 'number'), name='article_number_once'),
        ),
        migrations.AddConstraint(
            model_name='firstarticle',
            constraint=models.CheckConstraint(condition=models.Q(('status__in', ['preparing', 'submitted', 'approved', 'approved_with_limits', 'to_be_corrected'])), name='article_status_known'),
        ),
        migrations.AddConstraint(
            model_name='lot',
            constraint=models.UniqueConstraint(fields=('dossier', 'number'), name='lot_number_once'),
        ),
        migrations.AddConstraint(
            model_name='lot',
            constraint=models.CheckConstraint(condition=models.Q(('status__in', ['open', 'submitted', 'judged', 'released', 'received', 'accepted', 'rejected', 'closed', 'withdrawn'])), name='lot_status_known'),
        ),
        migrations.AddConstraint(
            model_name='submission',
            constraint=models.UniqueConstraint(fields=('lot', 'purpose', 'nth'), name='submission_nth_of_lot'),
        ),
        migrations.AddConstraint(
            model_name='submission',
            constraint=models.UniqueConstraint(fields=('article', 'nth'), name='submission_nth_of_article'),
        ),
        migrations.AddConstraint(
            model_name='submission',
            constraint=models.CheckConstraint(condition=models.Q(('lot__isnull', False), ('article__isnull', False), _connector='XOR'), name='submission_of_one_thing'),
        ),
        migrations.AddConstraint(
            model_name='submission',
            constraint=models.CheckConstraint(condition=models.Q(('purpose__in', ['first_article', 'lot', 'rejection'])), name='submission_purpose_known'),
        ),
        migrations.AddConstraint(
            model_name='verdict',
            constraint=models.CheckConstraint(condition=models.Q(('outcome__in', ['conforming', 'nonconforming', 'inconclusive', 'incomplete'])), name='verdict_outcome_known'),
        ),
        migrations.AddConstraint(
            model_name='verdictpaper',
            constraint=models.UniqueConstraint(fields=('verdict', 'language'), name='paper_once_a_language'),
        ),
    ]
