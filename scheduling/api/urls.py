"""Addresses of the work of a farm below `/api/farms/`. Making and sending plans is the desk's."""

from django.urls import path

from scheduling.api import care_views as care
from scheduling.api import fact_views as facts
from scheduling.api import fuel_views as fuel
from scheduling.api import incident_views as incidents
from scheduling.api import order_views as orders
from scheduling.api import record_views as records
from scheduling.api import report_views as reports
from scheduling.api import views

_FARM = "<slug:farm_code>/"
urlpatterns = [
    path(_FARM + "passes/", views.PassList.as_view()),
    path(_FARM + "passes/<int:pk>/", views.PassItem.as_view()),
    path(_FARM + "passes/<int:pk>/call-off/", views.CallOff.as_view()),
    path(_FARM + "passes/<int:pk>/take-up-again/", views.TakeUpAgain.as_view()),
    path(_FARM + "windows/", views.WindowsView.as_view()),
    path(_FARM + "job-slips/", views.JobSlips.as_view()),
    path(_FARM + "plans/<int:number>/", views.PlanItem.as_view()),
    path(_FARM + "work-records/", records.WorkList.as_view()),
    path(_FARM + "work-records/<int:pk>/", records.WorkItem.as_view()),
    path(_FARM + "reports/", reports.ReportList.as_view()),
    path(_FARM + "reports/<uuid:client_id>/", reports.ReportItem.as_view()),
    path(_FARM + "reports/<uuid:client_id>/photos/", reports.ReportPhotos.as_view()),
    path(_FARM + "hour-readings/", records.ReadingList.as_view()),
    path(_FARM + "hour-readings/<int:pk>/", records.ReadingItem.as_view()),
    path(_FARM + "incidents/", records.IncidentList.as_view()),
    path(_FARM + "incidents/<int:pk>/", records.IncidentItem.as_view()),
    path(_FARM + "incident-places/", incidents.PlaceList.as_view()),
    path(_FARM + "incident-places/<int:pk>/", incidents.PlaceItem.as_view()),
    path(_FARM + "incident-mendings/", incidents.MendingList.as_view()),
    path(_FARM + "incident-mendings/<int:pk>/", incidents.MendingItem.as_view()),
    path(_FARM + "meters-replaced/", incidents.MeterReplacedList.as_view()),
    path(_FARM + "meters-replaced/<int:pk>/", incidents.MeterReplacedItem.as_view()),
    path(_FARM + "say-sos/", records.SaySoList.as_view()),
    path(_FARM + "say-sos/<int:pk>/", records.SaySoItem.as_view()),
    path(_FARM + "remarks/", facts.RemarkList.as_view()),
    path(_FARM + "remarks/<int:pk>/", facts.RemarkItem.as_view()),
    path(_FARM + "waterings/", facts.WateringList.as_view()),
    path(_FARM + "waterings/<int:pk>/", facts.WateringItem.as_view()),
    path(_FARM + "sprayings/", facts.SprayingList.as_view()),
    path(_FARM + "sprayings/<int:pk>/", facts.SprayingItem.as_view()),
    path(_FARM + "pivot-places/", facts.PivotPlaceList.as_view()),
    path(_FARM + "pivot-places/<int:pk>/", facts.PivotPlaceItem.as_view()),
    path(_FARM + "care-done/", care.CareDoneList.as_view()),
    path(_FARM + "care-done/<int:pk>/", care.CareDoneItem.as_view()),
    path(_FARM + "care-due/", care.CareDueList.as_view()),
    path(_FARM + "fuel-fills/", fuel.FillList.as_view()),
    path(_FARM + "fuel-fills/<int:pk>/", fuel.FillItem.as_view()),
    path(_FARM + "fuel-deliveries/", fuel.DeliveryList.as_view()),
    path(_FARM + "fuel-deliveries/<int:pk>/", fuel.DeliveryItem.as_view()),
    path(_FARM + "tank-readings/", fuel.TankReadingList.as_view()),
    path(_FARM + "tank-readings/<int:pk>/", fuel.TankReadingItem.as_view()),
    path(_FARM + "limit-choices/", facts.LimitChoiceList.as_view()),
    path(_FARM + "limit-choices/<int:pk>/", facts.LimitChoiceItem.as_view()),
    path(_FARM + "starting-orders/", orders.StartingOrders.as_view()),
    path(_FARM + "orders-of-work/", orders.OrderList.as_view()),
    path(_FARM + "orders-of-work/<slug:code>/", orders.OrderItem.as_view()),
    path(_FARM + "orders-of-work/<slug:code>/versions/", orders.OrderVersions.as_view()),
    path(_FARM + "orders-of-work/<slug:code>/preview/", orders.PreviewOrder.as_view()),
    path(_FARM + "orders-of-work/<slug:code>/lay/", orders.LayOrder.as_view()),
    path(_FARM + "order-layings/", orders.LayingList.as_view()),
    path(_FARM + "order-layings/<int:pk>/", orders.LayingItem.as_view()),
    path(_FARM + "order-layings/<int:pk>/take-back/", orders.TakeBackLaying.as_view()),
]
