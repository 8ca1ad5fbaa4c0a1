"""Outlines of fields as files of other programs hold them: GeoJSON, zipped shapefiles, KML. Pure: no Django.

What comes out is what the file says, in longitude and latitude on WGS 84; whether it can be a boundary is decided by
`farmops.farms.boundaries`, as for every boundary.
"""
