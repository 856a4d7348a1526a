"""Addresses: signing in and out, and the people of the house."""

from django.urls import URLPattern, path

from workshop.people import views

urlpatterns: list[URLPattern] = [
    path("sign-in/", views.sign_in, name="people-sign-in"),
    path("sign-out/", views.sign_out, name="people-sign-out"),
    path("workshop/people/new/", views.person_new, name="person-new"),
    path("workshop/people/<int:pk>/", views.person_change, name="person-change"),
    path("workshop/people/<int:pk>/leave/", views.leave_new, name="leave-new"),
    path("workshop/leave/<int:pk>/take-back/", views.leave_take_back, name="leave-take-back"),
]
