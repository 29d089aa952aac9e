from django.apps import AppConfig


class WorkshopConfig(AppConfig):
    name = "loft.workshop"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from loft.workshop import jobs  # noqa: F401  registers the planning of lays
