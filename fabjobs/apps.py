from django.apps import AppConfig


class FabjobsConfig(AppConfig):
    name = "fabjobs"
    default_auto_field = "django.db.models.BigAutoField"
