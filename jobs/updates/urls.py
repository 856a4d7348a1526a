"""Addresses: messages to clients."""

from django.urls import URLPattern, path

from jobs.updates import views

urlpatterns: list[URLPattern] = [
    path("messages/", views.update_list, name="updates-list"),
    path("messages/doubtful/", views.doubtful, name="mail-doubtful"),
    path("messages/<int:pk>/", views.show, name="update-show"),
    path("messages/<int:pk>/release/", views.release, name="update-release"),
    path("messages/<int:pk>/drop/", views.drop, name="update-drop"),
    path("jobs/<int:pk>/message/", views.new, name="update-new"),
]
