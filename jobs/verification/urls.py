"""Addresses: targets and the proof."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
