
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('customers', '0001_initial'),
        ('workshop', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Quote',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('number', models.PositiveIntegerField(null=True, unique=True)),
                ('created_at', models.DateTimeField()),
                ('created_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('customer', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='quotes', to='customers.customer')),
            ],
        ),
        migrations.CreateModel(
            name='Revision',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('revision', models.PositiveSmallIntegerField()),
                ('state', models.CharField(choices=[('draft', 'draft'), ('issued', 'issued'), ('accepted', 'accepted'), ('declined', 'declined'), ('expired', 'expired'), ('superseded', 'superseded'), ('cancelled', 'cancelled')], default='draft', max_length=12)),
                ('pattern_code', models.CharField(max_length=40)),
                ('terms_code', models.CharField(blank=True, max_length=40)),
                ('boats', models.TextField()),
                ('sails', models.PositiveSmallIntegerField()),
                ('currency', models.CharField(max_length=3)),
                ('net_minor', models.BigIntegerField()),
                ('gross_minor', models.BigIntegerField()),
                ('margin', models.DecimalField(decimal_places=8, max_digits=16, null=True)),
                ('below_floor', models.BooleanField()),
                ('snapshot', models.BinaryField()),
                ('drafted_at', models.DateTimeField()),
                ('issued_at', models.DateTimeField(null=True)),
                ('reason', models.CharField(blank=True, max_length=500)),
                ('valid_until', models.DateField(null=True)),
                ('expires_at', models.DateTimeField(null=True)),
                ('pdf', models.BinaryField(null=True)),
                ('pdf_sha256', models.CharField(blank=True, max_length=64)),
                ('accepted_at', models.DateTimeField(null=True)),
                ('accepted_name', models.CharField(blank=True, max_length=120)),
                ('declined_at', models.DateTimeField(null=True)),
                ('expired_at', models.DateTimeField(null=True)),
                ('superseded_at', models.DateTimeField(null=True)),
                ('cancelled_at', models.DateTimeField(null=True)),
                ('issued_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('quote', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='revisions', to='orders.quote')),
            ],
        ),
        migrations.CreateModel(
            name='Order',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('number', models.PositiveIntegerField(unique=True)),
                ('state', models.CharField(choices=[('open', 'open'), ('delivered', 'delivered'), ('cancelled', 'cancelled')], default='open', max_length=12)),
                ('currency', models.CharField(max_length=3)),
                ('gross_minor', models.BigIntegerField()),
                ('deposit_minor', models.BigIntegerField()),
                ('due_on', models.DateField(null=True)),
                ('opened_at', models.DateTimeField()),
                ('delivered_at', models.DateTimeField(null=True)),
                ('cancelled_at', models.DateTimeField(null=True)),
                ('customer', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='orders', to='customers.customer')),
                ('revision', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='order', to='orders.revision')),
            ],
        ),
        migrations.CreateModel(
            name='AcceptanceLink',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('nonce', models.CharField(max_length=32)),
                ('token_sha256', models.CharField(max_length=64, unique=True)),
                ('created_at', models.DateTimeField()),
                ('revoked_at', models.DateTimeField(null=True)),
                ('revision', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='link', to='orders.revision')),
            ],
        ),
        migrations.CreateModel(
            name='OrderLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('position', models.PositiveSmallIntegerField()),
                ('label', models.CharField(max_length=450)),
                ('boat', models.CharField(max_length=200)),
                ('owner', models.CharField(max_length=200)),
                ('net_minor', models.BigIntegerField()),
                ('order', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lines', to='orders.order')),
                ('ticket', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='line', to='workshop.ticket')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('order', 'position'), name='order_line_position_once')],
            },
        ),
        migrations.CreateModel(
            name='Payment',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('amount_minor', models.BigIntegerField()),
                ('received_on', models.DateField()),
                ('reference', models.CharField(blank=True, max_length=120)),
                ('recorded_at', models.DateTimeField()),
                ('order', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='payments', to='orders.order')),
                ('recorded_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('amount_minor__gt', 0)), name='payment_is_positive')],
            },
        ),
        migrations.AddIndex(
            model_name='revision',
            index=models.Index(fields=['state', 'expires_at'], name='revision_expiry'),
        ),
        migrations.AddConstraint(
            model_name='revision',
            constraint=models.UniqueConstraint(fields=('quote', 'revision'), name='revision_once'),
        ),
        migrations.AddConstraint(
            model_name='revision',
            constraint=models.UniqueConstraint(condition=models.Q(('state', 'issued')), fields=('quote',), name='one_issued_revision'),
        ),
        migrations.AddConstraint(
            model_name='revision',
            constraint=models.UniqueConstraint(condition=models.Q(('state', 'accepted')), fields=('quote',), name='one_accepted_revision'),
        ),
        migrations.AddConstraint(
            model_name='revision',
            constraint=models.CheckConstraint(condition=models.Q(('state__in', ['draft', 'issued', 'accepted', 'declined', 'expired', 'superseded', 'cancelled'])), name='revision_state_known'),
        ),
        migrations.AddConstraint(
            model_name='revision',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('state', 'draft'), _negated=True), ('issued_at__isnull', True), _connector='OR'), name='draft_is_not_issued'),
        ),
        migrations.AddConstraint(
            model_name='revision',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('state__in', ['issued', 'accepted', 'declined', 'expired']), _negated=True), ('issued_at__isnull', False), _connector='OR'), name='revision_issued_stamp'),
        ),
        migrations.AddConstraint(
            model_name='revision',
            constraint=models.CheckConstraint(condition=models.Q(('issued_at__isnull', True), models.Q(('expires_at__isnull', False), ('pdf__isnull', False), ('valid_until__isnull', False), models.Q(('pdf_sha256', ''), _negated=True)), _connector='OR'), name='issued_has_pdf_and_validity'),
        ),
        migrations.AddConstraint(
            model_name='revision',
            constraint=models.CheckConstraint(condition=models.Q(('issued_at__isnull', True), ('below_floor', False), models.Q(('reason', ''), _negated=True), _connector='OR'), name='below_floor_has_reason'),
        ),
        migrations.AddConstraint(
            model_name='revision',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('accepted_at__isnull', False), ('state__in', ['accepted'])), models.Q(models.Q(('state__in', ['accepted']), _negated=True), ('accepted_at__isnull', True)), _connector='OR'), name='revision_accepted_stamp'),
        ),
        migrations.AddConstraint(
            model_name='revision',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('declined_at__isnull', False), ('state__in', ['declined'])), models.Q(models.Q(('state__in', ['declined']), _negated=True), ('declined_at__isnull', True)), _connector='OR'), name='revision_declined_stamp'),
        ),
        migrations.AddConstraint(
            model_name='revision',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('expired_at__isnull', False), ('state__in', ['expired'])), models.Q(models.Q(('state__in', ['expired']), _negated=True), ('expired_at__isnull', True)), _connector='OR'), name='revision_expired_stamp'),
        ),
        migrations.AddConstraint(
            model_name='revision',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('state__in', ['superseded']), ('superseded_at__isnull', False)), models.Q(models.Q(('state__in', ['superseded']), _negated=True), ('superseded_at__isnull', True)), _connector='OR'), name='revision_superseded_stamp'),
        ),
        migrations.AddConstraint(
            model_name='revision',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('cancelled_at__isnull', False), ('state__in', ['cancelled'])), models.Q(models.Q(('state__in', ['cancelled']), _negated=True), ('cancelled_at__isnull', True)), _connector='OR'), name='revision_cancelled_stamp'),
        ),
        migrations.AddIndex(
            model_name='order',
            index=models.Index(fields=['state', 'due_on'], name='order_board'),
        ),
        migrations.AddConstraint(
            model_name='order',
            constraint=models.CheckConstraint(condition=models.Q(('state__in', ['open', 'delivered', 'cancelled'])), name='order_state_known'),
        ),
        migrations.AddConstraint(
            model_name='order',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('delivered_at__isnull', False), ('state__in', ['delivered'])), models.Q(models.Q(('state__in', ['delivered']), _negated=True), ('delivered_at__isnull', True)), _connector='OR'), name='order_delivered_stamp'),
        ),
        migrations.AddConstraint(
            model_name='order',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('cancelled_at__isnull', False), ('state__in', ['cancelled'])), models.Q(models.Q(('state__in', ['cancelled']), _negated=True), ('cancelled_at__isnull', True)), _connector='OR'), name='order_cancelled_stamp'),
        ),
    ]
