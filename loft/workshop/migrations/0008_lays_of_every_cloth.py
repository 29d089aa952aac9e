import django.db.models.deletion
import loft.workshop.models
from django.conf import settings
from django.db import migrations, models


def copy_from_the_lay(apps, schema_editor):
    lay_sails = apps.get_model("workshop", "LaySail").objects
    for lay in apps.get_model("workshop", "Lay").objects.only("pk", "cloth_code", "colour"):
        lay_sails.filter(lay_id=lay.pk).update(cloth_code=lay.cloth_code, colour=lay.colour)


class Migration(migrations.Migration):

    dependencies = [
        ('workshop', '0007_non_class_tickets'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Remake',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('cloth_code', models.CharField(max_length=60)),
                ('colour', models.CharField(blank=True, max_length=60)),
                ('parts', models.JSONField(help_text='Ids of the parts.')),
                ('reason', models.CharField(max_length=300)),
                ('asked_at', models.DateTimeField()),
                ('withdrawn_at', models.DateTimeField(null=True)),
            ],
        ),
        migrations.RemoveConstraint(
            model_name='laysail',
            name='ticket_on_one_lay',
        ),
        migrations.AddField(
            model_name='lay',
            name='fit_rolls',
            field=models.BooleanField(default=False, help_text='Sections short enough for the stretches that are free on rolls in hand.'),
        ),
        migrations.AddField(
            model_name='laysail',
            name='cloth_code',
            field=models.CharField(default='', max_length=60),
            preserve_default=False,
        ),
        migrations.AddField(
            model_name='laysail',
            name='colour',
            field=models.CharField(blank=True, max_length=60),
        ),
        migrations.AddField(
            model_name='laysail',
            name='slots',
            field=models.JSONField(default=loft.workshop.models.in_the_body, help_text='Colour slots of the sail that are cut here.'),
        ),
        migrations.AddField(
            model_name='laysection',
            name='remnants',
            field=models.JSONField(help_text='Rectangles left over: [[x, y, length, width], ...]; null: not looked for yet.', null=True),
        ),
        migrations.AddField(
            model_name='remake',
            name='asked_by',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='remake',
            name='ticket',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='remakes', to='workshop.ticket'),
        ),
        migrations.AddField(
            model_name='laysail',
            name='remake',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='lays', to='workshop.remake'),
        ),
        migrations.RunPython(copy_from_the_lay, migrations.RunPython.noop, elidable=True),
        migrations.AddConstraint(
            model_name='laysail',
            constraint=models.UniqueConstraint(condition=models.Q(('out', False), ('remake__isnull', True)), fields=('ticket', 'cloth_code', 'colour'), name='ticket_once_by_cloth'),
        ),
        migrations.AddConstraint(
            model_name='laysail',
            constraint=models.UniqueConstraint(condition=models.Q(('out', False)), fields=('remake',), name='remake_on_one_lay'),
        ),
    ]
