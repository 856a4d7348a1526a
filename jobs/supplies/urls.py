"""Addresses: what jobs need."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
