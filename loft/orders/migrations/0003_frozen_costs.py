import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('catalogue', '0001_initial'),
        ('orders', '0002_versions'),
    ]

    operations = [
        migrations.CreateModel(
            name='FrozenCost',
            fields=[
                ('revision', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='frozen_cost', serialize=False, to='orders.revision')),
                ('cost_minor', models.BigIntegerField()),
                ('passed_minor', models.BigIntegerField()),
                ('end_of_roll_e3', models.PositiveIntegerField()),
            ],
        ),
        migrations.CreateModel(
            name='FrozenCostLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.PositiveSmallIntegerField()),
                ('sails', models.PositiveSmallIntegerField()),
                ('role', models.PositiveSmallIntegerField()),
                ('quantity_e3', models.PositiveBigIntegerField()),
                ('together_e3', models.PositiveBigIntegerField()),
                ('amount_minor', models.PositiveBigIntegerField()),
                ('frozen', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lines', to='orders.frozencost')),
                ('material', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='catalogue.material')),
            ],
            options={
                'indexes': [models.Index(condition=models.Q(('role', 1)), fields=['frozen', 'material'], name='frozen_laid_cloth')],
                'constraints': [models.UniqueConstraint(fields=('frozen', 'kind', 'material', 'role'), name='frozen_line_once')],
            },
        ),
    ]
