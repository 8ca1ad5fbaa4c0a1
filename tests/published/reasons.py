"""Public functions of science without a printed value of their own: what checks them instead, and why."""

CHECKED_OTHERWISE: dict[str, tuple[str, str]] = {
    "farmops.science.atmosphere.day_temps": (
        "science/test_ranges.py",
        "checks arguments for other functions and computes nothing",
    ),
    "farmops.science.radiation.sunrise_sunset_h": (
        "published/test_libraries.py",
        "held against a second library over a year",
    ),
    "farmops.science.crop_water.dual_crop_topsoil_day": (
        "published/test_fao56_examples.py",
        "example 35 runs over days, so that its rows depend on each other",
    ),
    "farmops.science.crop_water.root_zone_day": (
        "published/test_fao56_examples.py",
        "example 37 runs over days, so that its rows depend on each other",
    ),
    "farmops.science.soil_column.run_column": (
        "published/test_soil_column.py",
        "its examples run over days, so that their rows depend on each other; held against FAO-56 examples 35 and 37",
    ),
    "farmops.science.soil_column.daylight_shares": (
        "science/test_soil_column.py",
        "farm judgement: a half sine over daylight",
    ),
    "farmops.science.crop_growth.crop_days": (
        "published/test_crop_season.py",
        "its rows run over a season; held against a second library day by day",
    ),
    "farmops.science.crop_growth.stage_word": (
        "science/test_crop_growth.py",
        "gives a word for a row of a crop; held against the printed heat units of cotton's stages",
    ),
    "farmops.science.crop_growth.kc_max_by_day": (
        "science/test_crop_growth.py",
        "crop_water.kc_max, which has printed values, on columns",
    ),
    "farmops.science.crop_growth.ground_cover_share": (
        "published/test_crop_season.py",
        "no printed number was found; held against a second library over a season",
    ),
    "farmops.science.column_parts.column_soils": (
        "science/test_soil_column.py",
        "sets up other functions' rows and computes nothing of its own",
    ),
    "farmops.science.column_parts.at_field_capacity": (
        "science/test_soil_column.py",
        "a start without numbers",
    ),
    "farmops.science.column_parts.bare_days": ("science/test_soil_column.py", "days without numbers"),
    "farmops.science.column_parts.side_by_side": ("science/test_soil_column.py", "puts columns together"),
    "farmops.science.column_flows.drained_mm": (
        "science/test_soil_column.py",
        "farm judgement: a texture's share a day",
    ),
    "farmops.science.column_flows.corrected_mm": ("science/test_soil_column_remarks.py", "farm judgement"),
    "farmops.science.column_flows.given_back_mm": ("science/test_soil_column_remarks.py", "farm judgement"),
    "farmops.science.soil_temperature.surface_amplitude_c": (
        "science/test_soil_temperature.py",
        "farm judgement",
    ),
    "farmops.science.soil_temperature.surface_swing": ("science/test_soil_temperature.py", "farm judgement"),
    "farmops.science.soil_temperature.cover_lai": (
        "science/test_soil_temperature.py",
        "Beer's law turned round; held against the law",
    ),
    "farmops.science.soil_temperature.driving_temp_c": (
        "science/test_soil_temperature.py",
        "half way, by farm judgement, to a published function that has rows of its own",
    ),
    "farmops.science.soil_temperature.daily_mean_at_depth_c": (
        "published/test_soil_conduction.py",
        "no printed example was found; held against the equation of heat conduction, solved over a year",
    ),
    "farmops.science.soil_temperature.thermometer_offsets_c": (
        "science/test_soil_depths.py",
        "farm judgement",
    ),
    "farmops.science.air_hours.wind_at_hour_m_s": (
        "published/test_air_through_the_day.py",
        "held against the hours of a year that a library carries",
    ),
    "farmops.science.air_hours.inversion_risk": ("science/test_air_hours.py", "farm judgement"),
    "farmops.science.air_hours.above_dewpoint_c": (
        "published/test_air_through_the_day.py",
        "a threshold from memory, seen over the hours of a year",
    ),
    "farmops.science.air_hours.day_vapor_pressure_kpa": (
        "science/test_air_hours.py",
        "picks between two published functions that have rows of their own",
    ),
    "farmops.science.workability.dry_tillage_limit_m3_m3": (
        "science/test_workability.py",
        "no printed number was found; held against its definition",
    ),
    "farmops.science.workability.traffic_limit_m3_m3": ("science/test_workability.py", "farm judgement"),
    "farmops.science.workability.workable_limit_m3_m3": ("science/test_workability.py", "farm judgement"),
    "farmops.science.workability.dry_limit_m3_m3": ("science/test_workability.py", "farm judgement"),
    "farmops.science.workability.van_genuchten_m3_m3": (
        "science/test_workability.py",
        "no printed number was found; held against what its own definition asks at both ends",
    ),
    "farmops.science.workability.inflection_suction_m": (
        "science/test_workability.py",
        "no printed number was found; held against a search for the steepest place of the curve",
    ),
    "farmops.science.workability.optimum_tillage_m3_m3": (
        "science/test_workability.py",
        "no printed number was found; held against the curve at its inflection",
    ),
    "farmops.science.workability.wet_tillage_limit_m3_m3": (
        "science/test_workability.py",
        "no printed number was found; held against its definition",
    ),
}
