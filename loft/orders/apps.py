from django.apps import AppConfig


class OrdersConfig(AppConfig):
    name = "loft.orders"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from loft.orders import jobs  # noqa: F401  registers the letters and the sweep
