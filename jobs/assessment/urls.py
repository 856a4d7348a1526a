"""Addresses: assessments, readings, findings, photographs."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
