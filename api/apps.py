"""The API as a Django app."""

from django.apps import AppConfig


class ApiConfig(AppConfig):
    name = "api"
