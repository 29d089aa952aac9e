
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Design',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.CharField(max_length=64, unique=True)),
                ('pattern_code', models.CharField(max_length=40)),
                ('variant', models.BooleanField()),
                ('data', models.BinaryField()),
                ('created_at', models.DateTimeField()),
            ],
            options={
                'indexes': [models.Index(fields=['pattern_code', '-created_at'], name='design_by_pattern')],
            },
        ),
        migrations.CreateModel(
            name='Ticket',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('number', models.CharField(max_length=40, unique=True)),
                ('order_number', models.CharField(db_index=True, max_length=40)),
                ('due_on', models.DateField(null=True)),
                ('sail_label', models.CharField(max_length=450)),
                ('boat', models.CharField(max_length=200)),
                ('owner', models.CharField(max_length=200)),
                ('sail_number', models.CharField(max_length=200, null=True)),
                ('sail', models.BinaryField()),
                ('class_code', models.CharField(max_length=40)),
                ('class_name', models.CharField(max_length=200)),
                ('edition', models.CharField(max_length=40)),
                ('pattern_label', models.CharField(max_length=300)),
                ('insignia', models.TextField(blank=True)),
                ('label_place', models.TextField(blank=True)),
                ('roll', models.CharField(blank=True, max_length=60)),
                ('lot', models.CharField(blank=True, max_length=60)),
                ('metres_used', models.DecimalField(decimal_places=3, max_digits=8, null=True)),
                ('label_number', models.CharField(blank=True, max_length=40)),
                ('state', models.CharField(choices=[('held', 'held'), ('released', 'released'), ('in_work', 'in work'), ('ready', 'ready'), ('scrapped', 'scrapped')], default='held', max_length=12)),
                ('opened_at', models.DateTimeField()),
                ('released_at', models.DateTimeField(null=True)),
                ('started_at', models.DateTimeField(null=True)),
                ('ready_at', models.DateTimeField(null=True)),
                ('scrapped_at', models.DateTimeField(null=True)),
                ('scrap_reason', models.CharField(blank=True, max_length=300)),
                ('design', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='tickets', to='workshop.design')),
            ],
        ),
        migrations.CreateModel(
            name='Step',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('position', models.PositiveSmallIntegerField()),
                ('station', models.CharField(max_length=20)),
                ('operation', models.CharField(max_length=60)),
                ('label', models.CharField(max_length=200)),
                ('minutes', models.DecimalField(decimal_places=2, max_digits=8)),
                ('how', models.TextField(blank=True)),
                ('caution', models.TextField(blank=True)),
                ('needs_number', models.BooleanField(default=False)),
                ('started_at', models.DateTimeField(null=True)),
                ('finished_at', models.DateTimeField(null=True)),
                ('finished_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('started_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('ticket', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='steps', to='workshop.ticket')),
            ],
        ),
        migrations.CreateModel(
            name='Requirement',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('deposit', 'deposit'), ('options', 'options signed'), ('fit', 'fit details confirmed'), ('cloth', 'cloth booked'), ('number', 'sail number'), ('label', 'class label')], max_length=12)),
                ('asked', models.CharField(max_length=200)),
                ('wording', models.CharField(max_length=600)),
                ('met_at', models.DateTimeField(null=True)),
                ('met_by', models.CharField(blank=True, max_length=200)),
                ('ticket', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='requirements', to='workshop.ticket')),
            ],
        ),
        migrations.AddIndex(
            model_name='ticket',
            index=models.Index(fields=['state', 'due_on'], name='ticket_board'),
        ),
        migrations.AddConstraint(
            model_name='ticket',
            constraint=models.CheckConstraint(condition=models.Q(('state__in', ['held', 'released', 'in_work', 'ready', 'scrapped'])), name='ticket_state_known'),
        ),
        migrations.AddConstraint(
            model_name='ticket',
            constraint=models.CheckConstraint(condition=models.Q(('state', 'scrapped'), models.Q(('released_at__isnull', True), ('state', 'held')), models.Q(models.Q(('state', 'held'), _negated=True), ('released_at__isnull', False)), _connector='OR'), name='ticket_released_stamp'),
        ),
        migrations.AddConstraint(
            model_name='ticket',
            constraint=models.CheckConstraint(condition=models.Q(('state', 'scrapped'), models.Q(('started_at__isnull', False), ('state__in', ['in_work', 'ready'])), models.Q(('started_at__isnull', True), ('state__in', ['held', 'released'])), _connector='OR'), name='ticket_started_stamp'),
        ),
        migrations.AddConstraint(
            model_name='ticket',
            constraint=models.CheckConstraint(condition=models.Q(('state__in', ['ready', 'scrapped']), ('ready_at__isnull', True), _connector='OR'), name='ticket_ready_stamp_only_late'),
        ),
        migrations.AddConstraint(
            model_name='ticket',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('state', 'ready'), _negated=True), ('ready_at__isnull', False), _connector='OR'), name='ticket_ready_stamp'),
        ),
        migrations.AddConstraint(
            model_name='ticket',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('scrapped_at__isnull', False), ('state__in', ['scrapped'])), models.Q(models.Q(('state__in', ['scrapped']), _negated=True), ('scrapped_at__isnull', True)), _connector='OR'), name='ticket_scrapped_stamp'),
        ),
        migrations.AddConstraint(
            model_name='step',
            constraint=models.UniqueConstraint(fields=('ticket', 'position'), name='step_position_once'),
        ),
        migrations.AddConstraint(
            model_name='step',
            constraint=models.CheckConstraint(condition=models.Q(('finished_at__isnull', True), ('started_at__isnull', False), _connector='OR'), name='step_finished_after_start'),
        ),
        migrations.AddConstraint(
            model_name='requirement',
            constraint=models.UniqueConstraint(fields=('ticket', 'kind'), name='requirement_once'),
        ),
        migrations.AddConstraint(
            model_name='requirement',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['deposit', 'options', 'fit', 'cloth', 'number', 'label'])), name='requirement_kind_known'),
        ),
    ]
