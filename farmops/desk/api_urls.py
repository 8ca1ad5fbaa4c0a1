"""Everything below `/api/`, put together."""

from django.urls import include, path
from drf_spectacular.views import SpectacularAPIView

from farmops.core.api.tokens import TokenView

urlpatterns = [
    path("token/", TokenView.as_view()),
    path("schema/", SpectacularAPIView.as_view()),
    path("farms/", include("farmops.farms.api.urls")),
    path("farms/", include("farmops.weather.api.urls")),
    path("farms/", include("scheduling.api.urls")),
    path("farms/", include("scheduling.api.plan_views")),
    path("farms/", include("ledger.api.urls")),
    path("farms/", include("farmops.desk.api")),
    path("farms/", include("farmops.desk.debris_api")),
    path("farms/", include("farmops.desk.holding_api")),
    path("farms/", include("farmops.desk.long_work_api")),
    path("farms/", include("farmops.desk.moving_api")),
    path("farms/", include("farmops.desk.supposing_api")),
]
