"""Where the formulas and the printed values come from, by the key that docstrings and check values use."""

from collections.abc import Mapping
from types import MappingProxyType

SOURCES: Mapping[str, str] = MappingProxyType(
    {
        "agron541": "Iowa State University, Agronomy 541, lesson on temperature and growing degree days.",
        "asae_d497": "ASAE/ASABE Standard D497, Agricultural Machinery Management Data (editions .4 to .7).",
        "asce2005": "ASCE Task Committee (Walter, I. A. et al.), The ASCE Standardized Reference Evapotranspiration Equation, 2005.",
        "asce2016": "Jensen, M. E. and Allen, R. G. (eds.), Evaporation, Evapotranspiration, and Irrigation Water Requirements, ASCE Manual 70, 2016.",
        "carsel1988": "Carsel, R. F. and Parrish, R. S., Developing joint probability distributions of soil water retention characteristics, Water Resources Research 24, 1988.",
        "cottonstages": "Cotton growth by heat units: DD60 from emergence to square, bloom and open boll, a public reprint of extension figures.",
        "cp_exercise": "Class exercise on center pivot areas (radius and acres), a public slide set.",
        "dexter2001": "Dexter, A. R. and Bird, N. R. A., Methods for predicting the optimum and the range of soil water contents for tillage based on the water retention curve, Soil & Tillage Research 57:203-212, 2001.",
        "fao56": "Allen, R. G., Pereira, L. S., Raes, D. and Smith, M., Crop evapotranspiration, FAO Irrigation and Drainage Paper 56, 1998.",
        "g1208": "University of Missouri Extension, G1208, Fuel requirements of field operations, 1993.",
        "gillespie1993": "Gillespie, T. J., Srivastava, B. and Pitblado, R. E., Using operational weather data to schedule fungicide sprays on tomatoes in southern Ontario, Journal of Applied Meteorology 32, 1993.",
        "horton2011": "Horton, B. and Corkrey, R., A weighted coefficient model for estimation of Australian daily soil temperature, Soil Research 49:305-314, 2011.",
        "isu2020": "Iowa State University Extension, Basol, T., Read your pesticide labels: temperature inversions, June 2020.",
        "isu_a324": "Iowa State University Extension, A3-24 / PM 696, Estimating the field capacity of farm machines.",
        "isu_a329": "Iowa State University Extension, A3-29, Estimating farm machinery costs.",
        "mcmahon2013": "McMahon, T. A. et al., Estimating actual, potential, reference crop and pan evaporation using standard meteorological data, Hydrology and Earth System Sciences 17:1331-1363, 2013, supplement.",
        "michel2005": "Michel, C., Andréassian, V. and Perrin, C., Soil Conservation Service curve number method: how to mend a wrong soil moisture accounting procedure, Water Resources Research 41, W02011, 2005.",
        "ncsu2007": "North Carolina State University, Carolina Cotton Notes, 30 April 2007 (five-day sums of DD60).",
        "ncsu2018": "North Carolina State Extension, cotton planting conditions, April 2018.",
        "neh630": "USDA Natural Resources Conservation Service, National Engineering Handbook part 630, chapters 9 and 10.",
        "niosh98126": "NIOSH, Criteria for a recommended standard: occupational noise exposure, publication 98-126, 1998.",
        "nist811": "NIST Special Publication 811, Guide for the use of the International System of Units, appendix B, 2008.",
        "nws_heat": "US National Weather Service, the heat index equation (Rothfusz regression and adjustments).",
        "ochsner2019": "Ochsner, T., Rain or Shine: an introduction to soil physical properties and processes, section 13.4, Oklahoma State University, 2019.",
        "osha_heat": "OSHA, Using the heat index: protective measures to take at each risk level.",
        "parton1981": "Parton, W. J. and Logan, J. A., A model for diurnal variation in soil and air temperature, Agricultural Meteorology 23:205-216, 1981.",
        "progressive": "Progressive Forage, field capacity of a 30 ft implement at 5 mph.",
        "rawls1982": "Rawls, W. J., Brakensiek, D. L. and Saxton, K. E., Estimation of soil water properties, Transactions of the ASAE 25:1316-1320, 1982.",
        "swat2009": "Neitsch, S. L. et al., Soil and Water Assessment Tool theoretical documentation, version 2009.",
        "swb": "US Geological Survey, Soil-Water-Balance code, test data on FAO-56 equation 72 and example 35.",
        "tr55": "USDA Soil Conservation Service, Urban hydrology for small watersheds, Technical Release 55, 1986.",
        "uga2020": "University of Georgia Extension, Worth County, July irrigation thoughts, July 2020.",
        "ut_w809": "University of Tennessee Extension, W 809 series, irrigation system capacity.",
        "vangenuchten1980": "van Genuchten, M. T., A closed-form equation for predicting the hydraulic conductivity of unsaturated soils, Soil Science Society of America Journal 44:892-898, 1980.",
        "wann1985": "Wann, M., Yen, D. and Gold, H. J., Evaluation and calibration of three models for daily cycle of air temperature, Agricultural and Forest Meteorology 34:121-128, 1985.",
        "wausharaargus": "County extension column on corn growing degree days, Waushara Argus.",
        "wfin": "Ohio State University Extension column on corn growing degree days.",
        "wilson1983": "Wilson, L. T. and Barnett, W. W., Degree-days: an aid in crop and pest management, California Agriculture 37, 1983.",
        "zheng1993": "Zheng, D., Hunt, E. R. and Running, S. W., A daily soil temperature model based on air temperature and precipitation for continental applications, Climate Research 2:183-191, 1993.",
    }
)
