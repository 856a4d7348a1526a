"""Addresses: the plan."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
