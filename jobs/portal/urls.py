"""Addresses: the client's pages, and the manager's two buttons about links."""

from django.urls import URLPattern, path

from jobs.portal.views import answers, letter, links, papers

urlpatterns: list[URLPattern] = [
    path("your-piano/enter/<str:token>/", letter.enter, name="portal-enter"),
    path("your-piano/", letter.home, name="portal-home"),
    path("your-piano/gone/", letter.gone_page, name="portal-gone"),
    path("your-piano/where-it-stands/", letter.follow, name="portal-follow"),
    path("your-piano/choose/", answers.choose, name="portal-choose"),
    path("your-piano/agree/<str:way>/", answers.agree, name="portal-agree"),
    path("your-piano/variation/<int:pk>/", answers.variation, name="portal-variation"),
    path("your-piano/paper/<str:kind>/<int:key>.pdf", papers.paper, name="portal-paper"),
    path("your-piano/photograph/<int:pk>/", papers.photograph, name="portal-photograph"),
    path("instruments/<int:number>/links/make/", links.make, name="link-make"),
    path("links/<int:pk>/revoke/", links.revoke, name="link-revoke"),
]
