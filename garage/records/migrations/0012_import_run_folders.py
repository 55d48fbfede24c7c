import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0011_table_uploads'),
    ]

    operations = [
        migrations.RemoveField('importrun', 'source'),
        migrations.RemoveField('importrun', 'step'),
        migrations.RemoveField('importrun', 'rows_total'),
        migrations.RemoveField('importrun', 'rows_done'),
        migrations.RemoveField('importrun', 'rows_rejected'),
        migrations.RemoveField('importrun', 'cancel_asked'),
        migrations.RemoveField('importrun', 'started_at'),
        migrations.RemoveField('importrun', 'heard_at'),
        migrations.AddField('importrun', 'table', models.ForeignKey(blank=True, help_text='The table that is imported; empty for files of our own form.', null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='runs', to='records.tableupload')),
        migrations.AddField('importrun', 'folder', models.CharField(default='', help_text='Its folder in the document storage.', max_length=60), preserve_default=False),
        migrations.AddField('importrun', 'dry_run', models.BooleanField(default=False)),
        migrations.AddField('importrun', 'tries', models.PositiveSmallIntegerField(default=0, help_text='More than one: a worker was lost, and nothing of its try was kept.')),
        migrations.AlterField('importrun', 'files', models.JSONField(help_text='Kind of file to its name, as it was sent.')),
        migrations.AlterField('importrun', 'message', models.TextField(blank=True, help_text='Why it was not done.')),
        migrations.AlterField('importrun', 'state', models.CharField(choices=[('queued', 'waiting'), ('running', 'running'), ('done', 'done'), ('cancelled', 'cancelled'), ('failed', 'not done')], default='queued', max_length=12)),
        migrations.AlterField('importrun', 'summary', models.JSONField(blank=True, help_text='garage.records.importing.told, once it is done.', null=True)),
        migrations.AddConstraint('importrun', models.CheckConstraint(condition=models.Q(models.Q(('state', 'done'), ('summary__isnull', False)), models.Q(models.Q(('state', 'done'), _negated=True), ('summary__isnull', True)), _connector='OR'), name='import_run_summary_when_done')),
        migrations.AddConstraint('importrun', models.CheckConstraint(condition=models.Q(models.Q(('ended_at__isnull', True), ('state__in', ['queued', 'running'])), models.Q(models.Q(('state__in', ['queued', 'running']), _negated=True), ('ended_at__isnull', False)), _connector='OR'), name='import_run_ended_when_over')),
    ]
