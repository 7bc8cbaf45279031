
import django.utils.timezone
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
    ]

    operations = [
        migrations.CreateModel(
            name='IdempotencyKey',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('owner', models.CharField(max_length=100)),
                ('key', models.CharField(max_length=200)),
                ('body_digest', models.CharField(max_length=64)),
                ('answer', models.JSONField(null=True)),
                ('created_at', models.DateTimeField(db_index=True, default=django.utils.timezone.now)),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('owner', 'key'), name='idempotency_key_of_owner')],
            },
        ),
        migrations.CreateModel(
            name='Job',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=100)),
                ('subject', models.CharField(blank=True, max_length=200)),
                ('chain', models.CharField(blank=True, max_length=100)),
                ('key', models.CharField(max_length=200, null=True, unique=True)),
                ('params', models.JSONField(default=dict)),
                ('state', models.CharField(choices=[('queued', 'Queued'), ('running', 'Running'), ('done', 'Done'), ('failed', 'Failed')], default='queued', max_length=10)),
                ('done', models.PositiveIntegerField(default=0)),
                ('total', models.PositiveIntegerField(default=0)),
                ('result', models.JSONField(null=True)),
                ('error', models.CharField(blank=True, max_length=200)),
                ('error_id', models.CharField(blank=True, max_length=12)),
                ('attempts', models.PositiveSmallIntegerField(default=0)),
                ('due_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('lease_until', models.DateTimeField(null=True)),
                ('created_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('finished_at', models.DateTimeField(null=True)),
            ],
            options={
                'indexes': [models.Index(fields=['name', 'subject', '-id'], name='job_latest'), models.Index(condition=models.Q(('state__in', ['queued', 'running'])), fields=['due_at'], name='job_open')],
                'constraints': [models.CheckConstraint(condition=models.Q(('state__in', ['queued', 'running', 'done', 'failed'])), name='job_state_known'), models.CheckConstraint(condition=models.Q(models.Q(('state', 'running'), _negated=True), ('lease_until__isnull', False), _connector='OR'), name='job_running_has_lease')],
            },
        ),
        migrations.CreateModel(
            name='Mail',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.CharField(max_length=200, unique=True)),
                ('to', models.CharField(max_length=254)),
                ('subject', models.CharField(max_length=200)),
                ('body', models.TextField()),
                ('created_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('sent_at', models.DateTimeField(null=True)),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('sent_at__isnull', True), ('sent_at__gte', models.F('created_at')), _connector='OR'), name='mail_sent_after_written')],
            },
        ),
    ]
