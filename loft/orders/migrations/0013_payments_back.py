"""What is paid back to a customer is a payment of less than zero."""

from __future__ import annotations

from typing import ClassVar

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies: ClassVar = [("orders", "0012_member_letters")]

    operations: ClassVar = [
        migrations.RemoveConstraint(model_name="payment", name="payment_is_positive"),
        migrations.AddConstraint(
            model_name="payment", constraint=models.CheckConstraint(condition=~models.Q(amount_minor=0), name="payment_is_something")
        ),
    ]
