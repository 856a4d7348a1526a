"""Addresses: jobs, tasks, variations, job cards."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
