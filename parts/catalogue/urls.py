"""Addresses: the catalogue of parts and the shelf."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
