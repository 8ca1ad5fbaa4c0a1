"""Addresses of the pages."""

from django.urls import path

from farmops.pages.views import (
    account,
    costs,
    day,
    entering,
    field_notes,
    fields,
    fleet,
    helping,
    holding,
    late,
    limits,
    links,
    morning,
    week,
)

app_name = "pages"

urlpatterns = [
    path("", account.home, name="home"),
    path("sign-in/", account.SignIn.as_view(), name="sign_in"),
    path("sign-out/", account.SignOut.as_view(), name="sign_out"),
    path("in/<str:secret>/", entering.enter, name="enter"),
    path("farms/<slug:farm_code>/links/", links.links, name="links"),
    path("farms/<slug:farm_code>/links/revoke/", links.revoke_all, name="revoke_links"),
    path("farms/<slug:farm_code>/links/<int:link_id>/revoke/", links.revoke, name="revoke_link"),
    path("farms/<slug:farm_code>/links/hands/<int:hand_id>/make/", links.make, name="make_link"),
    path(
        "farms/<slug:farm_code>/links/hands/<int:hand_id>/revoke/",
        links.revoke_of_hand,
        name="revoke_links_of_hand",
    ),
    path("farms/<slug:farm_code>/morning/", morning.morning, name="morning"),
    path("farms/<slug:farm_code>/week/", week.week, name="week"),
    path("farms/<slug:farm_code>/week/plan/", week.plan_again, name="plan_again"),
    path("farms/<slug:farm_code>/week/<int:number>/send/", week.send, name="send"),
    path("farms/<slug:farm_code>/week/<int:number>/help/", helping.help_week, name="help"),
    path("farms/<slug:farm_code>/passes/<int:pass_id>/hold/", holding.hold, name="hold"),
    path("farms/<slug:farm_code>/passes/<int:pass_id>/let-go/", holding.let_go, name="let_go"),
    path("farms/<slug:farm_code>/fleet/", fleet.fleet, name="fleet"),
    path("farms/<slug:farm_code>/fleet/<str:kind>/<int:row_id>/down/", fleet.down, name="down"),
    path("farms/<slug:farm_code>/fleet/<str:kind>/<int:row_id>/works/", fleet.works, name="works"),
    path("farms/<slug:farm_code>/fleet/hands/<int:hand_id>/away/", fleet.away, name="away"),
    path("farms/<slug:farm_code>/fleet/away/<int:away_id>/back/", fleet.back, name="back"),
    path("farms/<slug:farm_code>/fields/", fields.field_list, name="fields"),
    path("farms/<slug:farm_code>/fields/<slug:code>/", fields.field, name="field"),
    path("farms/<slug:farm_code>/fields/<slug:code>/say/", fields.say, name="say"),
    path("farms/<slug:farm_code>/fields/<slug:code>/gauge/", field_notes.gauge, name="gauge"),
    path(
        "farms/<slug:farm_code>/fields/<slug:code>/thermometer/", field_notes.thermometer, name="thermometer"
    ),
    path("farms/<slug:farm_code>/fields/<slug:code>/remark/", field_notes.remark, name="remark"),
    path(
        "farms/<slug:farm_code>/fields/<slug:code>/remark/<int:remark_id>/back/",
        field_notes.take_back,
        name="take_back",
    ),
    path("farms/<slug:farm_code>/late/", late.late, name="late"),
    path("farms/<slug:farm_code>/late/<slug:crop>/", late.set_late, name="set_late"),
    path("farms/<slug:farm_code>/limits/", limits.limits, name="limits"),
    path("farms/<slug:farm_code>/limits/zones/fit/", limits.fit, name="fit_zones"),
    path("farms/<slug:farm_code>/limits/<slug:key>/", limits.choose, name="choose_limit"),
    path("farms/<slug:farm_code>/day/", day.day, name="day"),
    path("farms/<slug:farm_code>/day/send/<slug:kind>/", day.send, name="send_report"),
    path("farms/<slug:farm_code>/day/field/<slug:code>.svg", day.shape, name="field_shape"),
    path("farms/<slug:farm_code>/costs/", costs.costs, name="costs"),
    path("farms/<slug:farm_code>/costs/<slug:code>/", costs.field_costs, name="field_costs"),
    path("farms/<slug:farm_code>/costs/as/<str:kind>/", costs.download, name="download"),
]
