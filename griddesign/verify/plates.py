"""The plates of a claim: ohms and mass against dimensions, drawing and metal, and which of them is to blame.

Ohms are N rho/t, mass is d A t, so ohms times mass are N A rho d and do not know the thickness. Where all are claimed,
three relations tell which figure is the odd one: a wrong mass breaks mass and product, wrong ohms or another alloy ohms
and product, a wrong thickness ohms and mass but not the product.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from griddesign import metals
from griddesign.job.claim_records import Claimed, ClaimedPlate
from griddesign.judge.finding import Verdict
from griddesign.metals import Metal
from griddesign.progress import at
from griddesign.verify.offer import Geometry, Offer
from griddesign.verify.points import Allowed, Judged, Point, Route, against, judge
from griddesign.verify.spans import Span

FOUR_WIRE = "Measure one plate of the lot four-wire, cold, with the metal's temperature."
WEIGH = "Weigh ten plates of the lot together."
ASSAY = "Ask for the heat's certificate; measure ohms and mass of one plate, or a straight strip of the lot."
_MOST_NAMES = 3


@dataclass(frozen=True)
class PlateFound:
    """A plate judged. ``ohm`` and ``mass`` at 20 degC are what all that follows is computed with: as claimed, or where
    they stand accused as computed; ``claimed_ohm`` as claimed. None where neither is known. ``metal``: as claimed, or
    where another is found out, the one that fits best."""

    plate: ClaimedPlate
    judged: tuple[Judged, ...]
    ohm: Span | None
    claimed_ohm: Span | None
    mass: Span | None
    geometry: Geometry | None
    metal: Metal | None = None


def find_plate(offer: Offer, plate: ClaimedPlate) -> PlateFound:
    """Every point of one plate kind."""
    at(f"plate {plate.name} of the claim, its ohms from its outline")
    return _Plate(offer, plate).found()


def density(metal: Metal) -> Span:
    """Density, kg/m3, with its ends."""
    return Span.of(metal.density, f"density of {metal.key}")


def resistivity(metal: Metal) -> Span:
    """Resistivity at 20 degC, ohm m, with its ends."""
    return Span.of(metal.resistivity, f"resistivity of {metal.key}")


class _Plate:
    """One plate kind at work."""

    def __init__(self, offer: Offer, plate: ClaimedPlate) -> None:
        self.offer, self.plate, self.metal = offer, plate, plate.metal
        self.best_metal = plate.metal
        self.geometries = offer.geometries[plate.name]
        self.ohm = self._ohm_point()
        self.mass = self._mass_point()
        self.product = self._product_point()

    def found(self) -> PlateFound:
        sizes = self._sizes_point()
        sizes_judged = None if sizes is None else judge(sizes, self.offer.units)
        blamed = tuple(self._blamed(sizes_judged))
        judged = tuple(
            judge(point, self.offer.units)
            for point in (self.ohm, self.mass, self.product, *blamed)
            if point is not None
        )
        every = (*judged, *((sizes_judged,) if sizes_judged else ()))
        ohm = None if self.ohm is None or self.ohm.no_reference else self.ohm.claimed
        return PlateFound(
            self.plate,
            every,
            self._best(self.ohm, judged, self._ohm_routes()) if ohm or not self.ohm else self._computed_ohm(),
            ohm,
            self._best(self.mass, judged, self._mass_routes()),
            self.geometries[0] if self.geometries else None,
            self.best_metal,
        )

    # --- routes ---

    def _ohm_routes(self) -> tuple[Route, ...]:
        if self.metal is None:
            return ()
        rho, name = resistivity(self.metal), self.metal.key
        return tuple(Route(f"{one.words} in {name}", one.squares_per_m * rho) for one in self.geometries)

    def _mass_routes(self) -> tuple[Route, ...]:
        if self.metal is None:
            return ()
        heavy, name = density(self.metal), self.metal.key
        return tuple(Route(f"{one.words} in {name}", one.volume_m3 * heavy) for one in self.geometries)

    def _test_ohms(self) -> tuple[Route, ...]:
        tests = [one for one in self.offer.claim.tests if one.of == self.plate.name and one.ohm is not None]
        spans = [(one.name, self.offer.cold(one.ohm, self.best_metal)) for one in tests if one.ohm is not None]
        return tuple(
            Route(f"test report {name}", found.span)
            for name, found in spans
            if not (found.no_reference or found.missing)
        )

    def _test_masses(self) -> tuple[Route, ...]:
        tests = [one for one in self.offer.claim.tests if one.of == self.plate.name]
        return tuple(
            Route(f"test report {one.name}", Span.of(one.mass.figure, one.mass.key))
            for one in tests
            if one.mass is not None
        )

    # --- points ---

    def _ohm_point(self) -> Point | None:
        claimed = self.plate.ohm
        if claimed is None:
            return None
        found = self.offer.cold(claimed, self.metal)
        routes = () if found.missing else (*self._ohm_routes(), *self._test_ohms())
        return Point(
            f"plate {self.plate.name}, ohms",
            found.span,
            "resistance",
            "ohm",
            self.offer.allowed(claimed),
            routes,
            missing=found.missing or self._missing(),
            measure=FOUR_WIRE,
            no_reference=found.no_reference,
        )

    def _mass_point(self) -> Point | None:
        claimed = self.plate.mass
        if claimed is None:
            return None
        span, routes = Span.of(claimed.figure, claimed.key), (*self._mass_routes(), *self._test_masses())
        item, allowed = f"plate {self.plate.name}, mass", self.offer.allowed(claimed)
        return Point(item, span, "mass", "kg", allowed, routes, self._missing(), WEIGH)

    def _product_point(self) -> Point | None:
        """Ohms times mass: whether the metal is the one it is said to be."""
        if self.ohm is None or self.mass is None or self.metal is None or self.ohm.no_reference or not self.geometries:
            return None
        of_metal = resistivity(self.metal) * density(self.metal)
        routes = tuple(
            Route(f"ohms × mass of {one.words} in {self.metal.key}", one.squares_area_m2 * of_metal)
            for one in self.geometries
        )
        share = self.ohm.allowed.share + self.mass.allowed.share
        claimed = self.ohm.claimed * self.mass.claimed
        item, allowed = f"plate {self.plate.name}, metal", Allowed(share, "that of ohms and mass together")
        return Point(item, claimed, "ohm mass", "ohm kg", allowed, routes, measure=ASSAY)

    def _sizes_point(self) -> Point | None:
        """Dimensions against drawing, by the squares over thickness that make the ohms."""
        if len(self.geometries) < 2:
            return None
        drawn = (Route(self.geometries[1].words, self.geometries[1].squares_per_m),)
        given = self.plate.ohm or self.plate.mass
        allowed = self.offer.allowed(given) if given else Allowed(self.offer.job.limits.notch_tolerance, "the job's")
        item, claimed = f"plate {self.plate.name}, dimensions", self.geometries[0].squares_per_m
        measure = "Measure height, passes, strip width and thickness of one plate of the lot."
        return Point(item, claimed, "per metre", "1/m", allowed, drawn, measure=measure)

    def _missing(self) -> str:
        lacks = [] if self.metal is not None else ["the metal"]
        drawn = self.plate.outline is not None
        lacks += [] if self.geometries else ["the thickness of its drawing" if drawn else "dimensions or a drawing"]
        return " and ".join(lacks)

    # --- who is to blame ---

    def _blamed(self, sizes: Judged | None) -> Iterator[Point]:
        """Settles which of ohms, mass and metal stands accused; yields the thickness where it is that."""
        if sizes is not None and sizes.verdict is Verdict.FAILS:
            self._excuse("dimensions and drawing do not agree", self.ohm, self.mass, self.product)
            return
        ohm, mass, product = (self._by_sizes(point) for point in (self.ohm, self.mass, self.product))
        fails = Verdict.FAILS
        if product is not fails and ohm is fails and mass is fails:
            yield from self._blame_thickness()
        elif product is fails and mass is fails and ohm is not fails:
            self._put_right(self.mass, "the mass")
        elif product is fails and ohm is fails and mass is not fails:
            self._blame_ohms_or_metal()
        elif product is fails and ohm is fails and mass is fails:
            self._excuse("neither ohms nor mass fit the sizes", self.product)

    def _by_sizes(self, point: Point | None) -> Verdict | None:
        """The verdict by sizes and metal alone, tests left out."""
        if point is None:
            return None
        own = tuple(route for route in point.routes if not route.words.startswith("test report"))
        return judge(replace(point, routes=own), self.offer.units).verdict if own else None

    def _blame_thickness(self) -> Iterator[Point]:
        assert self.ohm is not None
        route, one = self.ohm.routes[0], self.geometries[0]
        fitting_m = one.thickness_m * route.span.value / self.ohm.claimed.value
        self._excuse("the thickness is what does not fit: ohms and mass agree on another", self.ohm, self.mass)
        words = Route("ohms and mass, as claimed,", Span.exact(fitting_m))
        measure = "Measure the thickness of one plate at three places with a micrometer."
        item, claimed = f"plate {self.plate.name}, thickness", Span.exact(one.thickness_m)
        yield Point(item, claimed, "length", "m", self.ohm.allowed, (words,), measure=measure)

    def _blame_ohms_or_metal(self) -> None:
        """Another metal, where test or sections bear the ohms out, or where some metal would fit; else the ohms."""
        assert self.ohm is not None and self.metal is not None and self.product is not None
        alike = self._metals_that_fit()
        borne_out = self._borne_out()
        if borne_out is True or (borne_out is None and alike):
            named = f"; they would fit {', '.join(alike)}" if alike else "; they fit no metal of the tables"
            self.best_metal = metals.metal(alike[0]) if alike else self.metal
            self._ohm_without_metal(f"ohms and mass are not those of {self.metal.key}{named}")
            route = self.product.routes[0]
            self.product = replace(
                self.product,
                routes=(replace(route, words=f"another metal than claimed{named}: {route.words}"),),
            )
        else:
            self._put_right(self.ohm, "the ohms")

    def _borne_out(self) -> bool | None:
        """Whether other figures of the claim bear the plate's ohms out; None where there are none."""
        assert self.ohm is not None
        others = [route.span for route in self._test_ohms()]
        others += [
            self.offer.cold(one.ohm, self.metal).span.times(one.in_parallel**2 / one.plates)
            for one in self.offer.claim.sections
            if one.kind == self.plate.name and one.ohm is not None and one.plates
        ]
        if not others:
            return None
        share = self.ohm.allowed.share
        agree = sum(against(self.ohm.claimed, span, share) is not Verdict.FAILS for span in others)
        return 2 * agree > len(others)

    def _metals_that_fit(self) -> tuple[str, ...]:
        """Metals of the tables whose plate of these sizes would have the claimed ohms and mass."""
        assert self.ohm is not None and self.mass is not None
        one, found = self.geometries[0], []
        for key in metals.metal_keys():
            other = metals.metal(key)
            ohm_fits = _near(self.ohm, one.squares_per_m * resistivity(other))
            if ohm_fits and _near(self.mass, one.volume_m3 * density(other)):
                found.append((abs(one.squares_per_m.value * other.resistivity.value / self.ohm.claimed.value - 1), key))
        return tuple(key for _, key in sorted(found)[:_MOST_NAMES])

    def _ohm_without_metal(self, why: str) -> None:
        """The ohms by tests alone, these brought to 20 degC in the metal that fits; excused where there are none."""
        assert self.ohm is not None
        tests = self._test_ohms()
        if tests:
            self.ohm = replace(self.ohm, routes=tests)
        else:
            self._excuse(why, self.ohm)

    def _put_right(self, wrong: Point | None, named: str) -> None:
        """Ohms times mass with the figure that does not fit as computed: whether the rest fits the metal."""
        assert self.ohm is not None and self.mass is not None and self.product is not None and wrong is not None
        other = self.mass if wrong is self.ohm else self.ohm
        note = f" ({named} as computed, not as claimed)"
        routes = tuple(replace(route, words=route.words + note) for route in self.product.routes)
        self.product = replace(self.product, claimed=wrong.routes[0].span * other.claimed, routes=routes)

    def _excuse(self, why: str, *points: Point | None) -> None:
        for name in ("ohm", "mass", "product"):
            point = getattr(self, name)
            if point is not None and any(point is one for one in points):
                setattr(self, name, replace(point, excuse=why))

    # --- what follows is computed with ---

    def _best(self, point: Point | None, judged: Iterable[Judged], routes: tuple[Route, ...]) -> Span | None:
        accused = any(one.point is point and one.verdict is Verdict.FAILS for one in judged)
        if point is not None and not (accused and routes):
            return point.claimed
        return routes[0].span if routes else None

    def _computed_ohm(self) -> Span | None:
        routes = (*self._test_ohms(), *self._ohm_routes())
        return routes[0].span if routes else None


def _near(point: Point, span: Span) -> bool:
    return against(point.claimed, span, point.allowed.share) is not Verdict.FAILS


def cold_or_none(offer: Offer, claimed: Claimed | None, metal: Metal | None) -> Span | None:
    """Claimed ohms at 20 degC where the claim says enough to know them."""
    if claimed is None:
        return None
    found = offer.cold(claimed, metal)
    return None if found.no_reference or found.missing else found.span
