"""Addresses: purchase orders and what arrived."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
