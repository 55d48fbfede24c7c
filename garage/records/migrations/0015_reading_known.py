from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0014_reading_conditions'),
    ]

    operations = [
        migrations.AlterField(
            model_name='reading',
            name='condition',
            field=models.CharField(blank=True, choices=[('engine_off', 'key on, engine off'), ('idle', 'idle, warm'), ('raised', 'raised speed, no load'), ('load', 'under load')], help_text='Empty: not said.', max_length=20),
        ),
        migrations.AddConstraint(
            model_name='reading',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['measured', 'modelled', 'commanded'])), name='reading_kind_known'),
        ),
        migrations.AddConstraint(
            model_name='reading',
            constraint=models.CheckConstraint(condition=models.Q(('condition', ''), ('condition__in', ['engine_off', 'idle', 'raised', 'load']), _connector='OR'), name='reading_condition_known'),
        ),
        migrations.AddConstraint(
            model_name='reading',
            constraint=models.CheckConstraint(condition=models.Q(('layout', ''), ('layout__in', ['two_hose', 'one_hose']), _connector='OR'), name='reading_layout_known'),
        ),
    ]
