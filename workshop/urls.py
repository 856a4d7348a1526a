"""All addresses of the house: each package brings its own."""

from django.urls import include, path

urlpatterns = [
    path("", include("workshop.people.urls")),
    path("workshop/", include("workshop.house.urls")),
    path("parts/", include("parts.urls")),
    path("", include("jobs.urls")),
]
