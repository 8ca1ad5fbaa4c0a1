"""The whole address map."""

from django.urls import URLPattern, URLResolver, include, path

handler400 = "farmops.core.api.refusals.bad_request"
handler403 = "farmops.core.api.refusals.forbidden"
handler404 = "farmops.core.api.refusals.not_found"
handler500 = "farmops.core.api.refusals.broken"

urlpatterns: list[URLPattern | URLResolver] = [
    path("api/", include("farmops.desk.api_urls")),
    path("", include("farmops.pages.urls")),
]
