"""GET /v1/vehicles."""

from __future__ import annotations

from api.current import catalogue
from api.document import CATALOGUE, answers, blueprint
from api.endpoint import endpoint
from api.pages import PageQuery, page_of
from api.saying import said_where
from api.views import (
    BaselineView,
    EquipmentView,
    PlaceView,
    VariantView,
    Vehicles,
    VehicleView,
)
from kb.baseline import vehicle_baselines
from kb.entries import Vehicle
from rules.naming import catalog_ref

routes = blueprint("vehicles", CATALOGUE, "/v1")


@routes.get("/vehicles", responses=answers(Vehicles))
@endpoint
def list_vehicles(query: PageQuery) -> Vehicles:
    """Vehicles in the order of their ids, with variants, years, equipment, places, baselines."""
    known = catalogue()
    ids = sorted(known.vehicles)
    page, after = page_of(ids, query)
    return Vehicles(
        catalog=catalog_ref(known), total=len(ids), next=after,
        items=tuple(vehicle_view(key, known.vehicles[key]) for key in page),
    )


def vehicle_view(key: str, vehicle: Vehicle) -> VehicleView:
    """A vehicle as the API shows it."""
    variants = vehicle.variants.items()
    return VehicleView(
        vehicle=key, name=vehicle.name, years=str(vehicle.years),
        engines=tuple(sorted({variant.engine for _, variant in variants})),
        variants=tuple(
            VariantView(
                variant=name, name=v.name, engine=v.engine, market=v.market, years=str(v.years),
                equipment=v.equipment,
            )
            for name, v in variants
        ),
        equipment=tuple(
            EquipmentView(equipment=name, on=said_where(where))
            for name, where in vehicle.equipment.items()
        ),
        places=tuple(
            PlaceView(
                place=name, name=(p.name or name).replace("-", " "), count=p.count, axle=p.axle
            )
            for name, p in vehicle.places.items()
        ),
        baselines=tuple(
            BaselineView(
                id=b.id, name=b.name, variant=b.variant_id, year=b.year,
                equipment=tuple(sorted(b.equipment)),
            )
            for b in vehicle_baselines(key, vehicle)
        ),
    )
