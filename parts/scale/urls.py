"""Addresses: wire sizes and string figures."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
