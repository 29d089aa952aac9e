from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('catalogue', '0002_column_mapping'),
    ]

    operations = [
        migrations.CreateModel(
            name='ExchangeRate',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('on', models.DateField()),
                ('currency', models.CharField(max_length=3)),
                ('per_euro_e6', models.PositiveBigIntegerField()),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('on', 'currency'), name='one_rate_a_day')],
            },
        ),
    ]
