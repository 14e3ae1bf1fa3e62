"""The app that holds the catalogue: its models, pages and commands."""

from django.apps import AppConfig


class CatalogueConfig(AppConfig):
    name = "catalogue"
    verbose_name = "Catalogue"
