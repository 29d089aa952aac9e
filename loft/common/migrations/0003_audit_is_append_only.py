from django.db import migrations

from loft.common import append_only


def put_up(apps, schema_editor):
    append_only.put_up(schema_editor.connection)


def take_down(apps, schema_editor):
    append_only.take_down(schema_editor.connection)


class Migration(migrations.Migration):

    dependencies = [("common", "0002_audit_versions_and_limits")]

    operations = [migrations.RunPython(put_up, take_down)]
