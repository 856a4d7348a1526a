"""Addresses: the client's pages."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
