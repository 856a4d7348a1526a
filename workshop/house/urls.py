"""Addresses: the shop's own page: hours, rates, places, people, closures."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
