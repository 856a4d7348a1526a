"""Addresses: the bench: time on tasks."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
