"""Addresses: Today, instruments, the record of one."""

from django.urls import URLPattern, path

from jobs.desk import views

urlpatterns: list[URLPattern] = [
    path("", views.today, name="desk-today"),
    path("at-the-end/", views.at_the_end, name="money-at-the-end"),
    path("instruments/", views.instruments, name="desk-instruments"),
    path("instruments/<int:number>/", views.instrument, name="desk-instrument"),
]
