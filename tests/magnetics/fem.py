"""Finite elements as a witness of the pole pieces: two formulations bound the inductance from both sides.

H = the coil's field in air (own quadrature, fem_coil.py) + reaction. With the scalar potential, H = Hs - grad phi,
the reaction's energy comes out too low and so the poles' share of L too high; with the vector potential, B = mu0 Hs +
curl A, too low. Sources live in the bodies only, so the winding is not meshed. Space outside a sphere is mapped onto
a shell round it, and the solution is zero at the outer face of the shell (infinity): both bounds stay bounds. Fields
at points are sums over the magnetisation. Millimetres in the mesh, SI at the rim. Nothing of the package is imported:
a test reads the imports.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from dataclasses import dataclass, field

import netgen.occ as occ
import ngsolve as ng
import numpy as np
from fem_coil import MU0, Array, Coil, air_inductance, coil_h

__all__ = ["Block", "Coil", "FemResult", "Rod", "solve"]
MM = 1e3
RULE = 4  # quadrature in the bodies: 46 points an element, exact to degree 8; more points move no result by 2e-5
DIRECT, STEPS = 120_000, 600  # unknowns up to which factorising is quicker; most steps of conjugate gradients
AIR, GRADING = 3.0, 0.3  # coarser air leaves an error that finer bodies do not remove
AXES = "xyz"
THREADS = int(os.environ.get("OMP_NUM_THREADS", os.cpu_count() or 1))  # `make test` runs several processes of one


@dataclass(frozen=True)
class Rod:
    """Upright cylinder: axis at x, y, lower end z0, metres; mu: recoil permeability; br: remanence along z, tesla."""

    x: float
    y: float
    z0: float
    length: float
    diameter: float
    mu: float
    br: float = 0.0

    def magnet(self) -> tuple[float, float, float]:
        return (0.0, 0.0, self.br)

    def corner(self) -> Array:
        a = self.diameter / 2
        return np.array([[self.x - a, self.y - a, self.z0], [self.x + a, self.y + a, self.z0 + self.length]])

    def shape(self) -> occ.Solid:
        foot = occ.Pnt(self.x * MM, self.y * MM, self.z0 * MM)
        return occ.Cylinder(foot, occ.Z, r=self.diameter / 2 * MM, h=self.length * MM)

    def mirrored(self, axis: int) -> Rod:
        x, y, z0 = self.x, self.y, self.z0
        x, y, z0 = (-x if axis == 0 else x, -y if axis == 1 else y, -z0 - self.length if axis == 2 else z0)
        return Rod(x, y, z0, self.length, self.diameter, self.mu, self.br)


@dataclass(frozen=True)
class Block:
    """Rectangular bar, blade or plate: size and centre (3), metres; magnetisation: remanence vector (3), tesla."""

    size: tuple[float, float, float]
    centre: tuple[float, float, float]
    mu: float
    magnetisation: tuple[float, float, float] = (0.0, 0.0, 0.0)

    def magnet(self) -> tuple[float, float, float]:
        return self.magnetisation

    def corner(self) -> Array:
        half = np.array(self.size) / 2
        return np.array([np.array(self.centre) - half, np.array(self.centre) + half])

    def shape(self) -> occ.Solid:
        low, high = (occ.Pnt(*(MM * p)) for p in self.corner())
        return occ.Box(low, high)

    def mirrored(self, axis: int) -> Block:
        centre = tuple(-c if i == axis else c for i, c in enumerate(self.centre))
        return Block(self.size, centre, self.mu, self.magnetisation)  # type: ignore[arg-type]


Body = Rod | Block


@dataclass(frozen=True)
class Moments:
    """Magnetisation times volume, A m2, at points of the bodies (n, 3): of one formulation and one excitation."""

    at: Array
    moment: Array

    def b(self, points: Array) -> Array:
        """Flux density in tesla at points (k, 3) outside the bodies: (k, 3)."""
        out = []
        for point in np.atleast_2d(points):
            arm = point - self.at
            r2 = (arm**2).sum(1)
            along = (arm * self.moment).sum(1)
            out.append(((3 * along / r2**2.5)[:, None] * arm - self.moment / r2[:, None] ** 1.5).sum(0))
        return MU0 / (4 * np.pi) * np.array(out)


@dataclass(frozen=True)
class FemResult:
    """Both bounds of L, the air part, fields per ampere and of the magnets; pairs are (scalar, vector) potential.

    The two formulations of a field or a linkage need not bracket the truth, but their difference shows the error.
    """

    inductance_low: float
    inductance_high: float
    air: float
    seconds: float
    ndof: tuple[int, int]
    elements: int
    mirrors: str
    linkage_pair: tuple[float, float]
    coil: Coil = field(repr=False)
    coil_moments: tuple[Moments, Moments] = field(repr=False)
    magnet_moments: tuple[Moments, Moments] = field(repr=False)

    @property
    def gap(self) -> float:
        """Width of the bracket over its middle."""
        return 2 * (self.inductance_high - self.inductance_low) / (self.inductance_high + self.inductance_low)

    @property
    def magnet_linkage(self) -> float:
        """Flux of the magnets through all turns, weber."""
        return sum(self.linkage_pair) / 2

    def coil_b_pair(self, points: Array) -> tuple[Array, Array]:
        """Flux density per ampere, T/A, at points (k, 3) outside bodies and winding, by both formulations."""
        points = np.atleast_2d(np.asarray(points, float))
        air = MU0 * coil_h(self.coil, points, 8, 48)
        return air + self.coil_moments[0].b(points), air + self.coil_moments[1].b(points)

    def coil_b(self, points: Array) -> Array:
        """Mean of both formulations, (k, 3)."""
        return sum(self.coil_b_pair(points)) / 2  # type: ignore[return-value]

    def magnet_b_pair(self, points: Array) -> tuple[Array, Array]:
        """Flux density of the magnets, tesla, at points (k, 3) outside the bodies, by both formulations."""
        points = np.atleast_2d(np.asarray(points, float))
        return self.magnet_moments[0].b(points), self.magnet_moments[1].b(points)

    def magnet_b(self, points: Array) -> Array:
        """Mean of both formulations, (k, 3)."""
        return sum(self.magnet_b_pair(points)) / 2  # type: ignore[return-value]


def solve(
    coil: Coil, rods: list[Rod], blocks: list[Block] | None = None, order: int = 3, h: float = 2e-3, edge: float = 0.35
) -> FemResult:
    """Both formulations on one mesh: `h` element size in the bodies in metres, `edge` its factor at their edges."""
    start = time.perf_counter()
    ng.SetNumThreads(THREADS)
    bodies: list[Body] = [*rods, *(blocks or [])]
    mirrors = {axis: parity for axis in range(3) if (parity := _parity(bodies, axis)) is not None}
    mesh, inner, outer = _mesh(bodies, mirrors, order, h * MM, edge)
    space = _Space(mesh, bodies, mirrors, order, inner, outer)
    hs = space.points_field(lambda at: coil_h(coil, at, 5, 20))
    zero = space.points_field(np.zeros_like)
    magnets = ng.CoefficientFunction(tuple(space.by_body([b.magnet()[i] for b in bodies]) for i in range(3)))

    on_coil = space.solve(hs, ng.CoefficientFunction((0.0, 0.0, 0.0)), dict.fromkeys(mirrors, 1))
    on_magnet = on_coil
    if any(any(b.magnet()) for b in bodies):
        on_magnet = space.solve(zero, magnets, mirrors)
    reaches = all(parity == 1 for parity in mirrors.values())
    air = air_inductance(coil)
    high, low = (space.integral(m * (hs * MU0)) for m in on_coil.magnetisation)
    linkage = tuple(space.integral(h_ * magnets) if reaches else 0.0 for h_ in on_coil.h)
    coil_moments = tuple(space.moments(m, dict.fromkeys(mirrors, 1)) for m in on_coil.magnetisation)
    magnet_moments = tuple(space.moments(m, mirrors) for m in on_magnet.magnetisation)
    if on_magnet is on_coil:
        magnet_moments = tuple(Moments(m.at, 0 * m.moment) for m in coil_moments)
    return FemResult(
        inductance_low=air + low,
        inductance_high=air + high,
        air=air,
        seconds=time.perf_counter() - start,
        ndof=on_coil.ndof,
        elements=mesh.ne,
        mirrors="".join(AXES[axis] for axis in mirrors),
        linkage_pair=linkage,  # type: ignore[arg-type]
        coil=coil,
        coil_moments=coil_moments,  # type: ignore[arg-type]
        magnet_moments=magnet_moments,  # type: ignore[arg-type]
    )


def _flip(axis: int) -> Array:
    """What the mirror plane normal to `axis` does to the coil's own B: Bx, By, Bz keep or change sign (3,)."""
    flip = np.ones(3)
    flip[axis] = -1
    return flip if axis < 2 else -flip


def _parity(bodies: list[Body], axis: int) -> int | None:
    """1: mirror plane, magnets' fields as the coil's; -1: the magnets' fields opposite; None: no mirror plane."""

    def key(body: Body, magnet: Array) -> tuple[object, ...]:
        numbers = [*body.corner().ravel() * MM, body.mu, *magnet]
        return (type(body).__name__, *(round(float(n), 6) + 0.0 for n in numbers))

    own = sorted(key(b, np.array(b.magnet())) for b in bodies)
    for parity in (1, -1):
        images = [b.mirrored(axis) for b in bodies]
        if own == sorted(key(b, parity * _flip(axis) * b.magnet()) for b in images):
            return parity
    return None


def _mesh(
    bodies: list[Body], mirrors: dict[int, int], order: int, h: float, edge: float
) -> tuple[ng.Mesh, float, float]:
    """Curved mesh of bodies, air and shell, cut at the mirror planes (positive sides kept); radii of the shell, mm."""
    inner = 1.25 * max(float(np.linalg.norm(np.abs(b.corner()).max(0))) for b in bodies) * MM
    outer = 1.6 * inner
    keep = [0.0 if axis in mirrors else -2 * outer for axis in range(3)]
    half_space = occ.Box(occ.Pnt(*keep), occ.Pnt(2 * outer, 2 * outer, 2 * outer))
    ball, whole = occ.Sphere(occ.Pnt(0, 0, 0), inner), occ.Sphere(occ.Pnt(0, 0, 0), outer)
    whole.faces.name = "far"
    shapes, taken = [], None
    for number, body in enumerate(bodies):
        shape = body.shape()
        if taken is not None:  # an earlier body wins where two overlap: a plate has holes where rods pass
            shape = shape - taken
        taken = shape if taken is None else taken + shape
        shape.mat(f"body{number}")
        shapes.append(shape)
    for shape in shapes:
        shape.maxh = h
        for line in shape.edges:
            line.maxh = h * edge
    air = (ball - taken).mat("air")
    shell = (whole - ball).mat("shell")
    cut = []
    for shape in [*shapes, air, shell]:
        part = shape * half_space if mirrors else shape
        if part.mass > 1e-9:
            cut.append(part)
    glued = occ.Glue(cut)
    for face in glued.faces:
        low, high = face.bounding_box
        for axis in mirrors:
            if abs(low[axis]) < 1e-6 and abs(high[axis]) < 1e-6:
                face.name = f"mirror{AXES[axis]}"
    mesh = ng.Mesh(occ.OCCGeometry(glued).GenerateMesh(maxh=inner / AIR, grading=GRADING))
    mesh.Curve(min(order + 1, 5))
    return mesh, inner, outer


@dataclass(frozen=True)
class _Solution:
    """Per formulation (scalar, vector): H and M in the bodies, A/m."""

    h: tuple[ng.CoefficientFunction, ng.CoefficientFunction]
    magnetisation: tuple[ng.CoefficientFunction, ng.CoefficientFunction]
    ndof: tuple[int, int]


class _Space:
    """Mesh, materials and quadrature points of one geometry."""

    def __init__(
        self, mesh: ng.Mesh, bodies: list[Body], mirrors: dict[int, int], order: int, inner: float, outer: float
    ) -> None:
        self.mesh, self.bodies, self.mirrors, self.order = mesh, bodies, mirrors, order
        self.body_regex = "body.*"
        self.inverses: dict[str, tuple[ng.BilinearForm, ng.BaseMatrix]] = {}
        self.mu_r = self.by_body([b.mu for b in bodies], 1.0)
        self.points = ng.comp.IntegrationRuleSpace(mesh, order=RULE, definedon=mesh.Materials(self.body_regex))
        self.rules = self.points.GetIntegrationRules()
        self.dx = ng.dx(definedon=mesh.Materials(self.body_regex), intrules=self.rules)
        self.at = self._sample(ng.CoefficientFunction((ng.x, ng.y, ng.z))) / MM
        weights = ng.LinearForm(self.points)
        weights += self.points.TestFunction() * self.dx
        weights.Assemble()
        self.weight = np.array(weights.vec.FV().NumPy()) / MM**3
        # the shell stands for all space outside: r = inner D / (outer - rho), D = outer - inner
        rho = ng.sqrt(ng.x**2 + ng.y**2 + ng.z**2)
        radial = ng.CoefficientFunction((ng.x, ng.y, ng.z)) / rho
        stretch = inner * (outer - inner) / (outer - rho) ** 2
        spread = inner * (outer - inner) / (outer - rho) / rho
        outward = ng.OuterProduct(radial, radial)
        unit = ng.Id(3)
        self.shell_mu = stretch * unit + (spread**2 / stretch - stretch) * outward
        self.shell_nu = 1 / stretch * unit + (stretch / spread**2 - 1 / stretch) * outward

    def by_body(self, values: list[float], elsewhere: float = 0.0) -> ng.CoefficientFunction:
        table = {f"body{i}": v for i, v in enumerate(values)}
        return self.mesh.MaterialCF(table, default=elsewhere)

    def _sample(self, function: ng.CoefficientFunction) -> Array:
        """Values of a vector function at the quadrature points, (n, 3)."""
        columns = []
        for i in range(3):
            values = ng.GridFunction(self.points)
            values.Interpolate(function[i])
            columns.append(np.array(values.vec.FV().NumPy()))
        return np.stack(columns, 1)

    def points_field(self, function: Callable[[Array], Array]) -> ng.CoefficientFunction:
        """A field known at points, as a coefficient on the quadrature points of the bodies."""
        parts = []
        for column in function(self.at).T:
            values = ng.GridFunction(self.points)
            values.vec.FV().NumPy()[:] = column
            parts.append(values)
        return ng.CoefficientFunction(tuple(parts))

    def integral(self, function: ng.CoefficientFunction) -> float:
        """Integral over all bodies, mirror images too, SI."""
        return float(ng.Integrate(function * self.dx, self.mesh)) / MM**3 * 2 ** len(self.mirrors)

    def moments(self, magnetisation: ng.CoefficientFunction, parities: dict[int, int]) -> Moments:
        at, moment = self.at, self._sample(magnetisation) * self.weight[:, None]
        for axis, parity in parities.items():
            image = np.ones(3)
            image[axis] = -1
            at = np.concatenate([at, at * image])
            moment = np.concatenate([moment, parity * _flip(axis) * moment])
        return Moments(at, moment)

    def solve(self, hs: ng.CoefficientFunction, br: ng.CoefficientFunction, parities: dict[int, int]) -> _Solution:
        """Source field hs in A/m and remanence br in tesla, both in the bodies only."""
        # on a mirror with the coil's parity B lies in the plane at x and y (A zero), H is normal to it at z (phi zero)
        zero_phi = [f"mirror{AXES[a]}" for a, p in parities.items() if (a == 2) == (p == 1)]
        zero_a = [f"mirror{AXES[a]}" for a, p in parities.items() if (a == 2) != (p == 1)]
        br = br * (1 / MU0)
        h_scalar, n_scalar = self._scalar(hs, br, "|".join(["far", *zero_phi]))
        h_vector, n_vector = self._vector(hs, br, "|".join(["far", *zero_a]))
        m_scalar = (self.mu_r - 1) * h_scalar + br
        m_vector = (self.mu_r - 1) * h_vector + br
        return _Solution((h_scalar, h_vector), (m_scalar, m_vector), (n_scalar, n_vector))

    def _scalar(
        self, hs: ng.CoefficientFunction, br: ng.CoefficientFunction, zero: str
    ) -> tuple[ng.CoefficientFunction, int]:
        space = ng.H1(self.mesh, order=self.order, dirichlet=zero)
        u, v = space.TnT()
        form = self.mu_r * ng.grad(u) * ng.grad(v) * ng.dx(self.body_regex + "|air")
        form += (self.shell_mu * ng.grad(u)) * ng.grad(v) * ng.dx("shell", bonus_intorder=4)
        phi = self._solve("scalar" + zero, space, form, ((self.mu_r - 1) * hs + br) * ng.grad(v) * self.dx)
        return hs - ng.grad(phi), space.ndof

    def _vector(
        self, hs: ng.CoefficientFunction, br: ng.CoefficientFunction, zero: str
    ) -> tuple[ng.CoefficientFunction, int]:
        space = ng.HCurl(self.mesh, order=self.order, nograds=True, dirichlet=zero)
        u, v = space.TnT()
        nu = 1 / self.mu_r
        form = nu * ng.curl(u) * ng.curl(v) * ng.dx(self.body_regex + "|air")
        form += (self.shell_nu * ng.curl(u)) * ng.curl(v) * ng.dx("shell", bonus_intorder=4)
        # fixes the gradients; the source has none, and this part is left out of H, so it can only widen the bracket
        form += 1e-8 * u * v * ng.dx
        a = self._solve("vector" + zero, space, form, ((1 - nu) * hs + nu * br) * ng.curl(v) * self.dx)
        return nu * (hs + ng.curl(a) - br), space.ndof

    def _solve(
        self, name: str, space: ng.FESpace, form: ng.comp.SumOfIntegrals, source: ng.comp.SumOfIntegrals
    ) -> ng.GridFunction:
        """Inner unknowns eliminated, the rest factorised or by conjugate gradients to 1e-6, which is 1e-11 in energy.

        Kept for the second excitation.
        """
        solution = ng.GridFunction(space)
        with ng.TaskManager():
            if name not in self.inverses:
                matrix = ng.BilinearForm(form, symmetric=True, condense=True)
                preconditioner = ng.Preconditioner(matrix, "bddc") if space.ndof > DIRECT else None
                matrix.Assemble()
                if preconditioner is None:
                    inverse = matrix.mat.Inverse(space.FreeDofs(True), "sparsecholesky")
                else:
                    inverse = ng.krylovspace.CGSolver(mat=matrix.mat, pre=preconditioner, tol=1e-6, maxiter=STEPS)
                self.inverses[name] = matrix, inverse
            matrix, inverse = self.inverses[name]
            right = ng.LinearForm(source).Assemble().vec
            right.data += matrix.harmonic_extension_trans * right
            solution.vec.data = inverse * right
            if getattr(inverse, "iterations", 0) >= STEPS:
                raise RuntimeError(
                    f"conjugate gradients must end within {STEPS} steps; take a finer or a better shaped mesh"
                )
            solution.vec.data += matrix.harmonic_extension * solution.vec
            solution.vec.data += matrix.inner_solve * right
        return solution
