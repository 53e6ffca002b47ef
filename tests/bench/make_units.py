#!/usr/bin/python3
"""Writes COUNT burn units as GeoJSON: points spread over the benchmark's grid, each with a plain prescription."""
import json
import random
import sys

count = int(sys.argv[1])
spread = random.Random(7)
prescription = {
    "limits": [
        {"quantity": "air_temperature", "scope": "each_hour", "kind": "hard", "acceptable": {"min": 10, "max": 25}},
        {"quantity": "relative_humidity", "scope": "each_hour", "kind": "hard", "acceptable": {"min": 35, "max": 70}},
        {"quantity": "wind_speed", "scope": "each_hour", "kind": "hard", "acceptable": {"max": 20}},
        {"quantity": "ffdi", "scope": "each_hour", "kind": "hard", "acceptable": {"below": 12}},
        {"quantity": "mixing_height", "scope": "each_hour", "kind": "hard", "acceptable": {"min": 500}},
        {"quantity": "ventilation_index", "scope": "window_mean", "kind": "hard", "acceptable": {"min": 2500}},
        {"quantity": "ffdi", "scope": "days_after", "days": 2, "kind": "stop", "acceptable": {"below": 24}},
    ],
    "within": {"from": "09:00", "to": "18:00"}, "latest_start": "15:00", "duration_h": 3,
}
features = [
    {
        "type": "Feature", "id": f"unit-{i:05d}",
        "geometry": {"type": "Point", "coordinates": [round(spread.uniform(142.1, 156.8), 4), round(spread.uniform(-39.9, -25.2), 4)]},
        "properties": {
            "name": f"Unit {i}", "district": "bench", "time_zone": "Australia/Sydney", "area_ha": 50, "status": "ready",
            "elevation_m": 300, "slope_deg": spread.choice([0, 5, 10, 15]), "aspect_deg": spread.randrange(360),
            "fuel": {"type": "dry-eucalypt-forest", "load_t_ha": spread.randrange(8, 20)}, "annual_rain_mm": 900,
            "initial_state": {"as_of": "2026-04-09", "kbdi": spread.randrange(20, 150), "litter_moisture": 15, "last_rain": {"ended": "2026-04-05T06:00:00+10:00", "amount_mm": 6}},
            "prescription": prescription,
        },
    }
    for i in range(count)
]
json.dump({"type": "FeatureCollection", "features": features}, sys.stdout)
