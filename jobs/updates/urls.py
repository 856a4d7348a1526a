"""Addresses: messages to clients."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
