"""Addresses: the catalogue of work."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
