"""Addresses: instruments, clients, enquiries."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
