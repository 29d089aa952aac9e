from django.apps import AppConfig


class JobsConfig(AppConfig):
    name = "loft.jobs"

    def ready(self) -> None:
        from loft.jobs import mail  # noqa: F401  # registers the handler of letters
