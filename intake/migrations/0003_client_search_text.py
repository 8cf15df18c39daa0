from django.db import migrations, models

from intake.models.clients import searchable


def fill(apps, schema_editor):
    """Make the clients that are there already findable."""
    Client = apps.get_model("intake", "Client")
    for client in Client.objects.iterator():
        client.search_text = searchable(client)
        client.save(update_fields=["search_text"])


class Migration(migrations.Migration):
    dependencies = [
        ("intake", "0002_no_discomfort"),
    ]

    operations = [
        migrations.AddField(
            model_name="client",
            name="search_text",
            field=models.TextField(blank=True, editable=False, verbose_name="as searched"),
        ),
        migrations.RunPython(fill, migrations.RunPython.noop),
    ]
