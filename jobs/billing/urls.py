"""Addresses: invoices and payments."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
