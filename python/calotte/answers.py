"""Typed records of answers. Written by python/tools/answers.py from the reports of the program: not to be changed by hand.

Numbers are SI, with the unit in the name of the field. Lists of numbers are numpy arrays, with NaN for what is missing.
"""

from __future__ import annotations

from typing import Any, Literal

import numpy as np

from ._data import Record, array, flags, matrix

Verdict = Literal["stays", "returns", "waits", "undecided"]
"""The verdicts."""


class SampledMeridian(Record):
    """Columns of a sampled meridian; all of one length, s increasing from pole to rim."""

    __slots__ = ('s_m', 'r_m', 'z_m', 'slope_rad', 'thickness_m',)
    s_m: np.ndarray
    """Arclength of the natural meridian."""
    r_m: np.ndarray
    """Radius."""
    z_m: np.ndarray
    """Height; the natural pole is at 0 and the natural rim above it."""
    slope_rad: np.ndarray
    """Slope angle φ (tan φ = dz/dr)."""
    thickness_m: np.ndarray
    """Wall thickness."""
    _fields = {
        "s_m": ("s_m", array),
        "r_m": ("r_m", array),
        "z_m": ("z_m", array),
        "slope_rad": ("slope_rad", array),
        "thickness_m": ("thickness_m", array),
    }


class PartSummary(Record):
    """The part in numbers."""

    __slots__ = ('shape', 'sphere_radius_m', 'half_angle_rad', 'rim_radius_m', 'rise_m', 'arc_length_m', 'hole_radius_m', 'thickness_m', 'thickness_ratio', 'lambda_', 'youngs_modulus_Pa', 'poisson_ratio', 'density_kg_per_m3', 'rim', 'uniform_wall', 'meridian',)
    shape: str
    """"cap of a sphere", "measured meridian", …"""
    sphere_radius_m: float | None
    """Sphere radius R, or the radius of the sphere through pole and rim of a measured meridian."""
    half_angle_rad: float
    """Half-angle α of that sphere at the rim."""
    rim_radius_m: float
    """Rim radius a of the natural mid-surface."""
    rise_m: float
    """Rise H of the natural mid-surface, pole (or hole edge plane of the completed surface) to rim."""
    arc_length_m: float
    """Arclength of the meridian from pole (or hole edge) to rim."""
    hole_radius_m: float
    """Radius of the pole hole, 0 for none."""
    thickness_m: float
    """Thickness at the rim."""
    thickness_ratio: float
    """Thickness over sphere radius."""
    lambda_: float
    """Shallowness λ = [12(1−ν²)]^¼ ℓ/√(Rh), ℓ the arclength from pole to rim."""
    youngs_modulus_Pa: float
    """Young's modulus."""
    poisson_ratio: float
    """Poisson ratio."""
    density_kg_per_m3: float | None
    """Density, when given."""
    rim: str
    """How the rim is held."""
    uniform_wall: bool
    """Whether the wall is uniform."""
    meridian: SampledMeridian
    """Natural meridian, sampled."""
    _fields = {
        "shape": ("shape", None),
        "sphere_radius_m": ("sphere_radius_m", None),
        "half_angle_rad": ("half_angle_rad", None),
        "rim_radius_m": ("rim_radius_m", None),
        "rise_m": ("rise_m", None),
        "arc_length_m": ("arc_length_m", None),
        "hole_radius_m": ("hole_radius_m", None),
        "thickness_m": ("thickness_m", None),
        "thickness_ratio": ("thickness_ratio", None),
        "lambda": ("lambda_", None),
        "youngs_modulus_Pa": ("youngs_modulus_Pa", None),
        "poisson_ratio": ("poisson_ratio", None),
        "density_kg_per_m3": ("density_kg_per_m3", None),
        "rim": ("rim", None),
        "uniform_wall": ("uniform_wall", None),
        "meridian": ("meridian", SampledMeridian._read),
    }


class DepthMargin(Record):
    """Threshold of depth."""

    __slots__ = ('threshold_half_angle_rad', 'threshold_rise_m', 'rise_ratio',)
    threshold_half_angle_rad: float | None
    """Half-angle at threshold (spherical caps; radius and hole kept)."""
    threshold_rise_m: float
    """Rise at threshold."""
    rise_ratio: float
    """Rise over rise at threshold: above 1 the part stays."""
    _fields = {
        "threshold_half_angle_rad": ("threshold_half_angle_rad", None),
        "threshold_rise_m": ("threshold_rise_m", None),
        "rise_ratio": ("rise_ratio", None),
    }


class VerdictSpread(Record):
    """First-order propagation of tolerances."""

    __slots__ = ('thickness_ratio_half_width', 'thickness_ratio_low', 'thickness_ratio_high', 'crosses_threshold',)
    thickness_ratio_half_width: float
    """Half-width of h/h*, root sum of squares, same coverage as the tolerances."""
    thickness_ratio_low: float
    """Lower end of h/h*."""
    thickness_ratio_high: float
    """Upper end of h/h*."""
    crosses_threshold: bool
    """Whether the interval contains 1: the batch will be mixed."""
    _fields = {
        "thickness_ratio_half_width": ("thickness_ratio_half_width", None),
        "thickness_ratio_low": ("thickness_ratio_low", None),
        "thickness_ratio_high": ("thickness_ratio_high", None),
        "crosses_threshold": ("crosses_threshold", None),
    }


class Sensitivity(Record):
    """One input's effect on h/h*."""

    __slots__ = ('input', 'relative_slope', 'slope_per_si', 'half_width',)
    input: str
    """Case file key, e.g. `wall.thickness`."""
    relative_slope: float | None
    """d ln(h/h*) / d ln(input); None when the input is 0."""
    slope_per_si: float
    """d(h/h*) per SI unit of the input."""
    half_width: float
    """Half-width of h/h* caused by this input's tolerance alone."""
    _fields = {
        "input": ("input", None),
        "relative_slope": ("relative_slope", None),
        "slope_per_si": ("slope_per_si", None),
        "half_width": ("half_width", None),
    }


class Margin(Record):
    """Distance to the threshold."""

    __slots__ = ('governing_n', 'threshold_thickness_m', 'thickness_ratio', 'lambda_ratio', 'threshold_lambda', 'depth', 'depth_note', 'spread', 'sensitivities',)
    governing_n: float
    """What is lost at the threshold: 0 the axisymmetric state (fold), n ≥ 1 a ripple."""
    threshold_thickness_m: float
    """Threshold thickness h* at the rim, at the depth of the part."""
    thickness_ratio: float
    """h/h*: below 1 the part stays."""
    lambda_ratio: float
    """λ/λ*: above 1 the part stays."""
    threshold_lambda: float
    """λ*."""
    depth: DepthMargin | None
    """Threshold depth at the thickness of the part; None when it was not found (say why in `depth_note`)."""
    depth_note: str
    """Why there is no depth margin, or how depth was changed."""
    spread: VerdictSpread | None
    """First-order spread from the tolerances in the case; None when the case has none."""
    sensitivities: list[Sensitivity]
    """Share of the margin that each input moves."""
    _fields = {
        "governing_n": ("governing_n", None),
        "threshold_thickness_m": ("threshold_thickness_m", None),
        "thickness_ratio": ("thickness_ratio", None),
        "lambda_ratio": ("lambda_ratio", None),
        "threshold_lambda": ("threshold_lambda", None),
        "depth": ("depth", DepthMargin._read),
        "depth_note": ("depth_note", None),
        "spread": ("spread", VerdictSpread._read),
        "sensitivities": ("sensitivities", lambda v: [(Sensitivity._read)(x) for x in v]),
    }


class Strains(Record):
    """Extreme strains (Biot), over the meridian and through the wall."""

    __slots__ = ('rim_meridional', 'rim_hoop', 'largest_membrane', 'largest_bending', 'largest_surface', 'largest_surface_at_m',)
    rim_meridional: float
    """Meridional mid-surface strain at the rim."""
    rim_hoop: float
    """Hoop mid-surface strain at the rim."""
    largest_membrane: float
    """Largest magnitude of mid-surface strain."""
    largest_bending: float
    """Largest magnitude of bending strain h|κ|/2."""
    largest_surface: float
    """Largest magnitude of the sum at either face."""
    largest_surface_at_m: float
    """Arclength where the largest surface strain sits."""
    _fields = {
        "rim_meridional": ("rim_meridional", None),
        "rim_hoop": ("rim_hoop", None),
        "largest_membrane": ("largest_membrane", None),
        "largest_bending": ("largest_bending", None),
        "largest_surface": ("largest_surface", None),
        "largest_surface_at_m": ("largest_surface_at_m", None),
    }


class MirrorComparison(Record):
    """What the real inverted shape adds to the mirror image."""

    __slots__ = ('energy_J', 'energy_ratio', 'rim_slope_change_rad', 'rim_radius_change_m', 'height_ratio',)
    energy_J: float
    """Energy of the perfect mirror image (all bending for a free cap)."""
    energy_ratio: float
    """Total inverted energy over mirror energy."""
    rim_slope_change_rad: float
    """Rim slope minus the mirror image's."""
    rim_radius_change_m: float
    """Rim radius minus the natural one."""
    height_ratio: float
    """Pole-to-rim height over the natural rise."""
    _fields = {
        "energy_J": ("energy_J", None),
        "energy_ratio": ("energy_ratio", None),
        "rim_slope_change_rad": ("rim_slope_change_rad", None),
        "rim_radius_change_m": ("rim_radius_change_m", None),
        "height_ratio": ("height_ratio", None),
    }


class EnergyAlongArc(Record):
    """Energy per unit natural area along the arc, J/m²."""

    __slots__ = ('s_m', 'stretching_J_per_m2', 'bending_J_per_m2',)
    s_m: np.ndarray
    """Arclength."""
    stretching_J_per_m2: np.ndarray
    """Stretching."""
    bending_J_per_m2: np.ndarray
    """Bending."""
    _fields = {
        "s_m": ("s_m", array),
        "stretching_J_per_m2": ("stretching_J_per_m2", array),
        "bending_J_per_m2": ("bending_J_per_m2", array),
    }


class InvertedState(Record):
    """The inverted equilibrium."""

    __slots__ = ('pole_height_m', 'rim_radius_m', 'rim_slope_rad', 'lip_width_m', 'lip_width_over_root_Rh', 'curvature_sign_changes_m', 'stretching_energy_J', 'bending_energy_J', 'rim_energy_J', 'saddle_energy_J', 'barrier_J', 'strains', 'mirror', 'meridian', 'energy', 'saddle_meridian',)
    pole_height_m: float
    """|pole height − rim height| (hole edge instead of the pole when there is a hole)."""
    rim_radius_m: float
    """Rim radius."""
    rim_slope_rad: float
    """Rim slope angle φ; the natural one is positive, the mirror image's negative."""
    lip_width_m: float | None
    """Lip: arc distance from the rim to the first point where the meridian's curvature changes sign; None when it changes nowhere (a rim that is held)."""
    lip_width_over_root_Rh: float | None
    """Lip width over √(Rh)."""
    curvature_sign_changes_m: np.ndarray
    """Every arclength (from the pole) at which dφ/ds changes sign."""
    stretching_energy_J: float
    """Stretching energy."""
    bending_energy_J: float
    """Bending energy."""
    rim_energy_J: float
    """Energy of the rim springs (elastic rim), 0 otherwise."""
    saddle_energy_J: float | None
    """Energy of the saddle on the axisymmetric path, when it was reached."""
    barrier_J: float | None
    """Saddle minus inverted energy."""
    strains: Strains
    """Strains."""
    mirror: MirrorComparison
    """Against the perfect mirror image."""
    meridian: SampledMeridian
    """The deformed meridian."""
    energy: EnergyAlongArc
    """Energy along the arc."""
    saddle_meridian: SampledMeridian | None
    """The saddle's meridian at the thickness of the part, when it was reached."""
    _fields = {
        "pole_height_m": ("pole_height_m", None),
        "rim_radius_m": ("rim_radius_m", None),
        "rim_slope_rad": ("rim_slope_rad", None),
        "lip_width_m": ("lip_width_m", None),
        "lip_width_over_root_Rh": ("lip_width_over_root_Rh", None),
        "curvature_sign_changes_m": ("curvature_sign_changes_m", array),
        "stretching_energy_J": ("stretching_energy_J", None),
        "bending_energy_J": ("bending_energy_J", None),
        "rim_energy_J": ("rim_energy_J", None),
        "saddle_energy_J": ("saddle_energy_J", None),
        "barrier_J": ("barrier_J", None),
        "strains": ("strains", Strains._read),
        "mirror": ("mirror", MirrorComparison._read),
        "meridian": ("meridian", SampledMeridian._read),
        "energy": ("energy", EnergyAlongArc._read),
        "saddle_meridian": ("saddle_meridian", SampledMeridian._read),
    }


class Ripple(Record):
    """One wave number at the inverted state."""

    __slots__ = ('n', 'negative', 'rigid', 'smallest_eigenvalue', 'residual', 'frequency_Hz',)
    n: float
    """Circumferential wave number; 0 is axisymmetric."""
    negative: float
    """Negative eigenvalues of the second variation (exact count by inertia)."""
    rigid: float
    """Rigid motions left out."""
    smallest_eigenvalue: float | None
    """Smallest eigenvalue of K x = Ω² M x with Ω = ω ℓ² √(ρh/D) (ℓ arclength, h and D at the rim)."""
    residual: float | None
    """Relative residual of that eigenpair."""
    frequency_Hz: float | None
    """Frequency when a density is given and the eigenvalue is positive."""
    _fields = {
        "n": ("n", None),
        "negative": ("negative", None),
        "rigid": ("rigid", None),
        "smallest_eigenvalue": ("smallest_eigenvalue", None),
        "residual": ("residual", None),
        "frequency_Hz": ("frequency_Hz", None),
    }


class Eversion(Record):
    """The force that turns the part inside out by its pole (or hole edge), axisymmetrically."""

    __slots__ = ('completed', 'inverted_found', 'largest_force_N', 'least_force_N', 'least_force_at_travel_m', 'points', 'mesh_difference',)
    completed: bool
    """Whether the path was followed past the mirror image."""
    inverted_found: bool
    """Whether a stable inverted equilibrium was met."""
    largest_force_N: float
    """Largest force on the way."""
    least_force_N: float | None
    """Least force after the first peak: above zero, nothing holds the part inverted. None when the force has no peak: it rises all the way."""
    least_force_at_travel_m: float | None
    """Travel of the inner end at that force."""
    points: float
    """Equilibria computed on the finer of two meshes."""
    mesh_difference: float | None
    """Relative difference of the least (without a peak, the largest) force between the meshes."""
    _fields = {
        "completed": ("completed", None),
        "inverted_found": ("inverted_found", None),
        "largest_force_N": ("largest_force_N", None),
        "least_force_N": ("least_force_N", None),
        "least_force_at_travel_m": ("least_force_at_travel_m", None),
        "points": ("points", None),
        "mesh_difference": ("mesh_difference", None),
    }


class BranchPoint(Record):
    """One equilibrium of the branch."""

    __slots__ = ('thickness_m', 'pole_height_m', 'rim_slope_rad', 'energy_J', 'negative',)
    thickness_m: float
    """Thickness at the rim."""
    pole_height_m: float
    """|pole − rim| height."""
    rim_slope_rad: float
    """Rim slope."""
    energy_J: float
    """Elastic energy."""
    negative: float
    """Negative eigenvalues, axisymmetric."""
    _fields = {
        "thickness_m": ("thickness_m", None),
        "pole_height_m": ("pole_height_m", None),
        "rim_slope_rad": ("rim_slope_rad", None),
        "energy_J": ("energy_J", None),
        "negative": ("negative", None),
    }


class VerdictBranch(Record):
    """Branch of inverted equilibria over a common factor on the thickness."""

    __slots__ = ('points', 'fold',)
    points: list[BranchPoint]
    """Points from the thinnest along the stable branch, round the fold and back along the saddles."""
    fold: float | None
    """Index of the fold among the points."""
    _fields = {
        "points": ("points", lambda v: [(BranchPoint._read)(x) for x in v]),
        "fold": ("fold", None),
    }


class Wait(Record):
    """What the memory of the material does after the hold."""

    __slots__ = ('protocol', 'loss', 'rests', 'wait_s', 'band_from_m', 'band_to_m', 'band_at_most_m',)
    protocol: list[str]
    """How the part is turned and held, in sentences."""
    loss: float
    """Share of the modulus lost at constant strain during the hold."""
    rests: bool | None
    """Whether an inverted equilibrium exists when the hand lets go; None when that is not known."""
    wait_s: float | None
    """How long that equilibrium lasts, without inertia; None when there is none or it lasts for ever."""
    band_from_m: float | None
    """The band of pseudo-bistability: walls thicker than this do not stay …"""
    band_to_m: float | None
    """… and walls up to this thickness rest a while, after a hold of the exact mirror image as long as that of the case."""
    band_at_most_m: float | None
    """The same after a hold so long that the material has relaxed wholly."""
    _fields = {
        "protocol": ("protocol", None),
        "loss": ("loss", None),
        "rests": ("rests", None),
        "wait_s": ("wait_s", None),
        "band_from_m": ("band_from_m", None),
        "band_to_m": ("band_to_m", None),
        "band_at_most_m": ("band_at_most_m", None),
    }


class Limit(Record):
    """A validity limit."""

    __slots__ = ('name', 'value', 'limit', 'met', 'consequence',)
    name: str
    """What is limited."""
    value: float
    """Value found."""
    limit: float
    """Limit."""
    met: bool
    """Whether the value keeps within."""
    consequence: str
    """What follows when it does not."""
    _fields = {
        "name": ("name", None),
        "value": ("value", None),
        "limit": ("limit", None),
        "met": ("met", None),
        "consequence": ("consequence", None),
    }


class Work(Record):
    """Work counters."""

    __slots__ = ('energies', 'assemblies', 'directionals', 'factorisations', 'solves',)
    energies: float
    """Evaluations of energy alone."""
    assemblies: float
    """Assemblies of gradient and tangent."""
    directionals: float
    """Exact directional derivatives."""
    factorisations: float
    """Factorisations of a band."""
    solves: float
    """Solves with a factor."""
    _fields = {
        "energies": ("energies", None),
        "assemblies": ("assemblies", None),
        "directionals": ("directionals", None),
        "factorisations": ("factorisations", None),
        "solves": ("solves", None),
    }


class VerdictEvidence(Record):
    """Numerical evidence."""

    __slots__ = ('residual', 'elements_coarse', 'elements_fine', 'threshold_difference', 'energy_difference', 'ripple_difference', 'fold_bracket', 'fold_residual', 'limits', 'work',)
    residual: float | None
    """Largest out-of-balance force over the largest internal force, finer mesh."""
    elements_coarse: float
    """Elements of the coarser mesh."""
    elements_fine: float
    """Elements of the finer mesh."""
    threshold_difference: float | None
    """Relative difference of the threshold thickness between the meshes."""
    energy_difference: float | None
    """Relative difference of the inverted energy between the meshes."""
    ripple_difference: float | None
    """Relative difference of the softest ripple's eigenvalue (n ≥ 1) between the meshes; the table of ripples is from the coarser."""
    fold_bracket: float | None
    """Fold bracket: relative half-width of thickness around h*, from inertia at both sides."""
    fold_residual: float | None
    """Residual of the extended system at the fold."""
    limits: list[Limit]
    """Validity limits: each with its value and whether it was met."""
    work: Work
    """Work done."""
    _fields = {
        "residual": ("residual", None),
        "elements_coarse": ("elements_coarse", None),
        "elements_fine": ("elements_fine", None),
        "threshold_difference": ("threshold_difference", None),
        "energy_difference": ("energy_difference", None),
        "ripple_difference": ("ripple_difference", None),
        "fold_bracket": ("fold_bracket", None),
        "fold_residual": ("fold_residual", None),
        "limits": ("limits", lambda v: [(Limit._read)(x) for x in v]),
        "work": ("work", Work._read),
    }


class VerdictReport(Record):
    """The whole answer."""

    __slots__ = ('schema_version', 'title', 'verdict', 'explanation', 'doubts', 'warnings', 'part', 'margin', 'inverted', 'ripples', 'ripple_bound', 'eversion', 'branch', 'wait', 'evidence',)
    schema_version: float
    """`SCHEMA_VERSION`."""
    title: str
    """Title of the case."""
    verdict: Verdict
    """What will happen."""
    explanation: list[str]
    """Why, in one or two sentences each; a student can follow them."""
    doubts: list[str]
    """Reasons to doubt the verdict (empty when there are none)."""
    warnings: list[str]
    """Warnings that do not change the verdict (validity limits met, cautions)."""
    part: PartSummary
    """The part as computed."""
    margin: Margin | None
    """How near the part is to the edge; None when no threshold was found."""
    inverted: InvertedState | None
    """The inverted equilibrium; None when there is none."""
    ripples: list[Ripple]
    """Circumferential wave numbers examined at the inverted state."""
    ripple_bound: str | None
    """Why no ripple beyond the last one examined can be lost."""
    eversion: Eversion | None
    """Path of an imposed eversion; only when no inverted equilibrium was found otherwise."""
    branch: VerdictBranch
    """Branch of inverted states over thickness."""
    wait: Wait | None
    """What the memory of the material does after the hold; None when the case has no memory."""
    evidence: VerdictEvidence
    """Numerical evidence."""
    _fields = {
        "schema_version": ("schema_version", None),
        "title": ("title", None),
        "verdict": ("verdict", None),
        "explanation": ("explanation", None),
        "doubts": ("doubts", None),
        "warnings": ("warnings", None),
        "part": ("part", PartSummary._read),
        "margin": ("margin", Margin._read),
        "inverted": ("inverted", InvertedState._read),
        "ripples": ("ripples", lambda v: [(Ripple._read)(x) for x in v]),
        "ripple_bound": ("ripple_bound", None),
        "eversion": ("eversion", Eversion._read),
        "branch": ("branch", VerdictBranch._read),
        "wait": ("wait", Wait._read),
        "evidence": ("evidence", VerdictEvidence._read),
    }


class Piece(Record):
    """A piece of the meridian."""

    __slots__ = ('number', 'span_m', 'rise_m', 'turns',)
    number: float
    """Number, from 1 at the inner end."""
    span_m: tuple[float, float]
    """Natural arclengths at its ends."""
    rise_m: float
    """Natural rise from its inner to its outer end."""
    turns: bool
    """Whether it can be turned over: neither rigid nor flat."""
    _fields = {
        "number": ("number", None),
        "span_m": ("span_m", tuple),
        "rise_m": ("rise_m", None),
        "turns": ("turns", None),
    }


class State(Record):
    """A round equilibrium that is a minimum among round shapes."""

    __slots__ = ('name', 'turned', 'stable', 'unstable_n', 'height_m', 'energy_J', 'barrier_J', 'beyond', 'largest_strain', 'largest_strain_at_m', 'strain_share', 'mesh_difference', 'meridian',)
    name: str
    """In words, e.g. `as made`, `piece 2 turned over`."""
    turned: np.ndarray
    """Numbers of the pieces that are turned over."""
    stable: bool
    """Whether it is stable: no sideways waves lost."""
    unstable_n: np.ndarray
    """Sideways waves that are lost."""
    height_m: float
    """Height of the inner end over the rim, m; negative as made."""
    energy_J: float
    """Elastic energy, J."""
    barrier_J: float | None
    """Lowest barrier found out of it, J; an upper bound of the true one."""
    beyond: float | None
    """Index of the state beyond that barrier."""
    largest_strain: float
    """Largest strain at a face."""
    largest_strain_at_m: float
    """Where, arclength."""
    strain_share: float | None
    """Largest strain over the limit."""
    mesh_difference: float | None
    """Relative difference of the energy between two meshes (of the largest energy among the states where its own is nothing)."""
    meridian: SampledMeridian
    """Shape."""
    _fields = {
        "name": ("name", None),
        "turned": ("turned", array),
        "stable": ("stable", None),
        "unstable_n": ("unstable_n", array),
        "height_m": ("height_m", None),
        "energy_J": ("energy_J", None),
        "barrier_J": ("barrier_J", None),
        "beyond": ("beyond", None),
        "largest_strain": ("largest_strain", None),
        "largest_strain_at_m": ("largest_strain_at_m", None),
        "strain_share": ("strain_share", None),
        "mesh_difference": ("mesh_difference", None),
        "meridian": ("meridian", SampledMeridian._read),
    }


class Way(Record):
    """A way from one state to another along a path of one force."""

    __slots__ = ('from_', 'to', 'pushed_at_m', 'trip_force_N', 'trip_travel_m', 'barrier_J', 'unstable', 'peak_strain',)
    from_: float
    """Index of the state that is left."""
    to: float
    """Index of the state reached."""
    pushed_at_m: float
    """Natural arclength of the circle that is pushed, m; 0 for the inner end of a part without a hole."""
    trip_force_N: float
    """Force that trips it there, N; positive from the inner end of the natural bowl towards its rim plane."""
    trip_travel_m: float
    """Travel of the circle at the trip, m."""
    barrier_J: float
    """Energy of the pass over that of the state left, J."""
    unstable: float
    """Unstable round directions at the pass; 1 is a true pass, more means that a lower one lies beside it."""
    peak_strain: float
    """Largest strain at a face along the way."""
    _fields = {
        "from": ("from_", None),
        "to": ("to", None),
        "pushed_at_m": ("pushed_at_m", None),
        "trip_force_N": ("trip_force_N", None),
        "trip_travel_m": ("trip_travel_m", None),
        "barrier_J": ("barrier_J", None),
        "unstable": ("unstable", None),
        "peak_strain": ("peak_strain", None),
    }


class FoldReport(Record):
    """A folding bowl in the trade's terms."""

    __slots__ = ('fold_force_N', 'fold_travel_m', 'hold_force_N', 'unfold_force_N', 'stays', 'peak_strain', 'peak_strain_travel_m', 'remaining_strain', 'strain_limit', 'peak_share', 'remaining_share', 'cautions',)
    fold_force_N: float
    """Largest force on the way to the folded shape, N."""
    fold_travel_m: float
    """Travel at which it is met, m."""
    hold_force_N: float
    """Force that keeps it folded, N: 0 when it stays by itself."""
    unfold_force_N: float
    """Pull that opens the folded bowl, N: 0 when it opens by itself."""
    stays: bool
    """Whether it stays folded."""
    peak_strain: float
    """Largest strain on the way."""
    peak_strain_travel_m: float
    """Travel at which it is met, m."""
    remaining_strain: float
    """Largest strain left in the folded shape."""
    strain_limit: float | None
    """Strain that the material bears."""
    peak_share: float | None
    """Peak strain over the limit."""
    remaining_share: float | None
    """Remaining strain over the limit."""
    cautions: list[str]
    """What to keep in mind."""
    _fields = {
        "fold_force_N": ("fold_force_N", None),
        "fold_travel_m": ("fold_travel_m", None),
        "hold_force_N": ("hold_force_N", None),
        "unfold_force_N": ("unfold_force_N", None),
        "stays": ("stays", None),
        "peak_strain": ("peak_strain", None),
        "peak_strain_travel_m": ("peak_strain_travel_m", None),
        "remaining_strain": ("remaining_strain", None),
        "strain_limit": ("strain_limit", None),
        "peak_share": ("peak_share", None),
        "remaining_share": ("remaining_share", None),
        "cautions": ("cautions", None),
    }


class StatesEvidence(Record):
    """What was searched."""

    __slots__ = ('elements', 'starts', 'failed', 'paths', 'points', 'cut_short', 'limits', 'work',)
    elements: tuple[float, float]
    """Elements of the mesh of the search and of the finer one."""
    starts: float
    """Folded starts that were minimised."""
    failed: float
    """Starts whose minimisation failed or left the part (crossing itself)."""
    paths: float
    """Paths followed."""
    points: float
    """Points on them."""
    cut_short: float
    """Paths that ended early."""
    limits: list[Limit]
    """Validity limits."""
    work: Work
    """Work."""
    _fields = {
        "elements": ("elements", tuple),
        "starts": ("starts", None),
        "failed": ("failed", None),
        "paths": ("paths", None),
        "points": ("points", None),
        "cut_short": ("cut_short", None),
        "limits": ("limits", lambda v: [(Limit._read)(x) for x in v]),
        "work": ("work", Work._read),
    }


class StatesReport(Record):
    """The whole answer."""

    __slots__ = ('schema_version', 'title', 'stable', 'explanation', 'doubts', 'warnings', 'part', 'pieces', 'states', 'ways', 'fold', 'folded', 'fold_note', 'strain_limit', 'evidence',)
    schema_version: float
    """Version of the JSON layout."""
    title: str
    """Title of the case."""
    stable: float | None
    """Number of stable states; None when the evidence does not carry it."""
    explanation: list[str]
    """In sentences."""
    doubts: list[str]
    """Reasons to doubt the number."""
    warnings: list[str]
    """Warnings and cautions."""
    part: PartSummary
    """The part as computed."""
    pieces: list[Piece]
    """Its pieces, from the inner end."""
    states: list[State]
    """Round equilibria that are minima among round shapes, by energy."""
    ways: list[Way]
    """Ways between them."""
    fold: FoldReport | None
    """Folding it by pushes at its inner end as far as they were followed; None with one stable state, or when no way was found."""
    folded: float | None
    """Index of the state to which they lead."""
    fold_note: str | None
    """What was not found about the folding."""
    strain_limit: float | None
    """Strain that the material bears, when the case says."""
    evidence: StatesEvidence
    """Evidence."""
    _fields = {
        "schema_version": ("schema_version", None),
        "title": ("title", None),
        "stable": ("stable", None),
        "explanation": ("explanation", None),
        "doubts": ("doubts", None),
        "warnings": ("warnings", None),
        "part": ("part", PartSummary._read),
        "pieces": ("pieces", lambda v: [(Piece._read)(x) for x in v]),
        "states": ("states", lambda v: [(State._read)(x) for x in v]),
        "ways": ("ways", lambda v: [(Way._read)(x) for x in v]),
        "fold": ("fold", FoldReport._read),
        "folded": ("folded", None),
        "fold_note": ("fold_note", None),
        "strain_limit": ("strain_limit", None),
        "evidence": ("evidence", StatesEvidence._read),
    }


PokeOutcome = Literal["trips", "follows", "undecided"]
"""Outcome under the driving asked for."""


class LoadSummary(Record):
    """The load as understood."""

    __slots__ = ('kind', 'words', 'from_', 'control', 'load_unit', 'displacement_unit', 'load_name', 'displacement_name', 'work_factor', 'stop_m', 'gravity_m_per_s2',)
    kind: str
    """`pole`, `ring`, `flat`, `ball`, `pusher`, `pressure`, `rim-displacement`, `rim-pull`, `gravity`."""
    words: str
    """In words, e.g. "rigid ball of radius 5 mm on the pole"."""
    from_: str
    """`natural` or `inverted`."""
    control: str
    """`load` or `displacement`."""
    load_unit: str
    """Unit of every `load_SI`."""
    displacement_unit: str
    """Unit of every `displacement_SI`."""
    load_name: str
    """What the load is called: "force", "pressure", …"""
    displacement_name: str
    """What the displacement is called: "travel of the pole", "volume swept", …"""
    work_factor: float
    """Work = factor · ∫ load d(displacement): 1, but the length of the natural rim for loads per length of rim."""
    stop_m: float | None
    """Travel at which a stop stands, m."""
    gravity_m_per_s2: float
    """Weight acting all the time, m/s²."""
    _fields = {
        "kind": ("kind", None),
        "words": ("words", None),
        "from": ("from_", None),
        "control": ("control", None),
        "load_unit": ("load_unit", None),
        "displacement_unit": ("displacement_unit", None),
        "load_name": ("load_name", None),
        "displacement_name": ("displacement_name", None),
        "work_factor": ("work_factor", None),
        "stop_m": ("stop_m", None),
        "gravity_m_per_s2": ("gravity_m_per_s2", None),
    }


class Landing(Record):
    """Where a jump ends."""

    __slots__ = ('load_SI', 'displacement_SI', 'travel_m', 'at_stop', 'released_J',)
    load_SI: float
    """Load after the jump."""
    displacement_SI: float
    """Displacement after the jump."""
    travel_m: float
    """Travel of the pole after the jump, m."""
    at_stop: bool
    """Whether the stop catches it before an equilibrium is met."""
    released_J: float
    """Energy set free by the jump, J."""
    _fields = {
        "load_SI": ("load_SI", None),
        "displacement_SI": ("displacement_SI", None),
        "travel_m": ("travel_m", None),
        "at_stop": ("at_stop", None),
        "released_J": ("released_J", None),
    }


class Trip(Record):
    """A first instability."""

    __slots__ = ('event', 'route', 'n', 'load_SI', 'displacement_SI', 'work_J', 'lands',)
    event: float
    """Which event."""
    route: str
    """`axisymmetric` or `sideways`."""
    n: float
    """Wave number: 0 axisymmetric."""
    load_SI: float
    """Trip load."""
    displacement_SI: float
    """Displacement there."""
    work_J: float
    """Work done up to there, J."""
    lands: Landing | None
    """Where the axisymmetric path would put the part after the jump; None beyond the path followed."""
    _fields = {
        "event": ("event", None),
        "route": ("route", None),
        "n": ("n", None),
        "load_SI": ("load_SI", None),
        "displacement_SI": ("displacement_SI", None),
        "work_J": ("work_J", None),
        "lands": ("lands", Landing._read),
    }


class PokeReturn(Record):
    """The way back with the load set."""

    __slots__ = ('event', 'load_SI', 'displacement_SI', 'lands',)
    event: float
    """Which event."""
    load_SI: float
    """Load at which it jumps back; negative: it has to be pulled."""
    displacement_SI: float
    """Displacement there."""
    lands: Landing | None
    """Where it lands."""
    _fields = {
        "event": ("event", None),
        "load_SI": ("load_SI", None),
        "displacement_SI": ("displacement_SI", None),
        "lands": ("lands", Landing._read),
    }


class SnapRatios(Record):
    """Snap ratios of the trade."""

    __slots__ = ('peak_to_contact', 'peak_to_return',)
    peak_to_contact: float
    """(F1 − F2)/F1 with F1 the first peak and F2 the load at the stop (or, without one, the valley)."""
    peak_to_return: float | None
    """(F1 − F3)/F1 with F3 the load at which the part jumps back."""
    _fields = {
        "peak_to_contact": ("peak_to_contact", None),
        "peak_to_return": ("peak_to_return", None),
    }


class Hysteresis(Record):
    """Energy lost in a full cycle, J."""

    __slots__ = ('by_load_J', 'by_displacement_J',)
    by_load_J: float | None
    """With the load set; None without a return."""
    by_displacement_J: float | None
    """With the displacement set."""
    _fields = {
        "by_load_J": ("by_load_J", None),
        "by_displacement_J": ("by_displacement_J", None),
    }


class Barrier(Record):
    """Energy needed to pass the saddle at a fixed load."""

    __slots__ = ('from_', 'load_SI', 'barrier_J', 'displacement_SI', 'saddle_displacement_SI',)
    from_: str
    """The state left: `start` or `far`."""
    load_SI: float
    """Load held."""
    barrier_J: float
    """Potential of the saddle less that of the state, J."""
    displacement_SI: float
    """Displacement of the state."""
    saddle_displacement_SI: float
    """Displacement of the saddle."""
    _fields = {
        "from": ("from_", None),
        "load_SI": ("load_SI", None),
        "barrier_J": ("barrier_J", None),
        "displacement_SI": ("displacement_SI", None),
        "saddle_displacement_SI": ("saddle_displacement_SI", None),
    }


class KeyAnswer(Record):
    """A key: its forces, and the strain of its wall up to the contact."""

    __slots__ = ('actuation_event', 'contact_event', 'return_event', 'peak_strain', 'peak_strain_travel_m', 'peak_strain_at_m', 'contact_strain', 'strain_limit', 'peak_share', 'actuation_force_N', 'actuation_force_gf', 'actuation_travel_m', 'contact_force_N', 'contact_force_gf', 'contact_by', 'stroke_m', 'return_force_N', 'return_force_gf', 'return_travel_m', 'snap_ratio', 'return_ratio', 'cautions',)
    actuation_event: float
    """Event at which F₁ is met."""
    contact_event: float | None
    """Event at which the contact closes."""
    return_event: float | None
    """Event at which the key comes back."""
    peak_strain: float
    """Largest strain at a face of the wall up to the contact, a number ≥ 0."""
    peak_strain_travel_m: float
    """Travel at which it is met, m."""
    peak_strain_at_m: float
    """Natural arclength at which it is met, m."""
    contact_strain: float | None
    """Largest strain at a face at the contact; None without one."""
    strain_limit: float | None
    """Strain that the material bears."""
    peak_share: float | None
    """Peak strain over the limit."""
    actuation_force_N: float
    """Actuation force F₁, N."""
    actuation_force_gf: float
    """The same in gram-force."""
    actuation_travel_m: float
    """Travel at the peak, m."""
    contact_force_N: float | None
    """Contact force F₂, N; None when the curve has neither contact nor valley."""
    contact_force_gf: float | None
    """The same in gram-force."""
    contact_by: str | None
    """What the contact was taken to be: `stop` or `valley`."""
    stroke_m: float | None
    """Stroke: travel to the contact, m."""
    return_force_N: float | None
    """Force F₃ at which it comes back, N; negative: it has to be pulled."""
    return_force_gf: float | None
    """The same in gram-force."""
    return_travel_m: float | None
    """Travel at which it comes back, m."""
    snap_ratio: float | None
    """(F₁ − F₂)/F₁."""
    return_ratio: float | None
    """(F₁ − F₃)/F₁."""
    cautions: list[str]
    """Usual values of rubber keys that this one does not have, and other cautions."""
    _fields = {
        "actuation_event": ("actuation_event", None),
        "contact_event": ("contact_event", None),
        "return_event": ("return_event", None),
        "peak_strain": ("peak_strain", None),
        "peak_strain_travel_m": ("peak_strain_travel_m", None),
        "peak_strain_at_m": ("peak_strain_at_m", None),
        "contact_strain": ("contact_strain", None),
        "strain_limit": ("strain_limit", None),
        "peak_share": ("peak_share", None),
        "actuation_force_N": ("actuation_force_N", None),
        "actuation_force_gf": ("actuation_force_gf", None),
        "actuation_travel_m": ("actuation_travel_m", None),
        "contact_force_N": ("contact_force_N", None),
        "contact_force_gf": ("contact_force_gf", None),
        "contact_by": ("contact_by", None),
        "stroke_m": ("stroke_m", None),
        "return_force_N": ("return_force_N", None),
        "return_force_gf": ("return_force_gf", None),
        "return_travel_m": ("return_travel_m", None),
        "snap_ratio": ("snap_ratio", None),
        "return_ratio": ("return_ratio", None),
        "cautions": ("cautions", None),
    }


class DiscStresses(Record):
    """Hoop stresses, Pa, tension positive. The face that gets shorter is the one on which the inner edge is pushed."""

    __slots__ = ('om_Pa', 'i_Pa', 'ii_Pa', 'iii_Pa', 'iv_Pa',)
    om_Pa: float
    """At OM: on the face that gets shorter, over the centre of turning."""
    i_Pa: float
    """At I: inner edge, same face."""
    ii_Pa: float
    """At II: inner edge, other face."""
    iii_Pa: float
    """At III: outer edge, other face."""
    iv_Pa: float
    """At IV: outer edge, same face as I."""
    _fields = {
        "om_Pa": ("om_Pa", None),
        "i_Pa": ("i_Pa", None),
        "ii_Pa": ("ii_Pa", None),
        "iii_Pa": ("iii_Pa", None),
        "iv_Pa": ("iv_Pa", None),
    }


class DiscRow(Record):
    """One deflection of the report."""

    __slots__ = ('share', 'deflection_m', 'load_N', 'rate_N_per_m', 'energy_J', 'stresses',)
    share: float
    """Deflection over h₀; 1 is flat."""
    deflection_m: float
    """Deflection, m."""
    load_N: float
    """Load, N."""
    rate_N_per_m: float
    """Slope of the load, N/m."""
    energy_J: float
    """Work done up to here, J."""
    stresses: DiscStresses
    """Stresses."""
    _fields = {
        "share": ("share", None),
        "deflection_m": ("deflection_m", None),
        "load_N": ("load_N", None),
        "rate_N_per_m": ("rate_N_per_m", None),
        "energy_J": ("energy_J", None),
        "stresses": ("stresses", DiscStresses._read),
    }


class DiscExtreme(Record):
    """A place on the load curve."""

    __slots__ = ('deflection_m', 'load_N',)
    deflection_m: float
    """Deflection, m."""
    load_N: float
    """Load, N."""
    _fields = {
        "deflection_m": ("deflection_m", None),
        "load_N": ("load_N", None),
    }


class DiscReport(Record):
    """What the formulae say about a coned disc."""

    __slots__ = ('source', 'outer_diameter_m', 'inner_diameter_m', 'thickness_m', 'height_m', 'overall_outer_diameter_m', 'overall_inner_diameter_m', 'overall_height_m', 'height_over_thickness', 'rows', 'peak', 'valley', 'stays', 'rests_at_m', 'cautions',)
    source: str
    """Where the formulae come from."""
    outer_diameter_m: float
    """Dₑ of the formulae, m."""
    inner_diameter_m: float
    """Dᵢ of the formulae, m."""
    thickness_m: float
    """t, m."""
    height_m: float
    """h₀, m."""
    overall_outer_diameter_m: float
    """Largest diameter of the tilted section, if the diameters above are those of the middle of the wall, m."""
    overall_inner_diameter_m: float
    """Smallest diameter of its hole, m."""
    overall_height_m: float
    """Overall height, unloaded, l₀, m."""
    height_over_thickness: float
    """h₀/t."""
    rows: list[DiscRow]
    """At quarters of h₀ up to flat."""
    peak: DiscExtreme | None
    """First peak of the load; None for h₀/t ≤ √2, where it only rises."""
    valley: DiscExtreme | None
    """Valley after it."""
    stays: bool
    """Whether it stays turned over: h₀/t > 2√2."""
    rests_at_m: float | None
    """Deflection at which it then rests, m."""
    cautions: list[str]
    """What to keep in mind."""
    _fields = {
        "source": ("source", None),
        "outer_diameter_m": ("outer_diameter_m", None),
        "inner_diameter_m": ("inner_diameter_m", None),
        "thickness_m": ("thickness_m", None),
        "height_m": ("height_m", None),
        "overall_outer_diameter_m": ("overall_outer_diameter_m", None),
        "overall_inner_diameter_m": ("overall_inner_diameter_m", None),
        "overall_height_m": ("overall_height_m", None),
        "height_over_thickness": ("height_over_thickness", None),
        "rows": ("rows", lambda v: [(DiscRow._read)(x) for x in v]),
        "peak": ("peak", DiscExtreme._read),
        "valley": ("valley", DiscExtreme._read),
        "stays": ("stays", None),
        "rests_at_m": ("rests_at_m", None),
        "cautions": ("cautions", None),
    }


class DiscShell(Record):
    """The shell at one deflection of a coned disc."""

    __slots__ = ('deflection_m', 'load_N', 'difference', 'hoop', 'meridional',)
    deflection_m: float
    """Deflection, m."""
    load_N: float | None
    """Load, N; None where the path does not reach."""
    difference: float | None
    """Shell less formula, over the formula."""
    hoop: DiscStresses | None
    """Hoop stresses at the standard's corners."""
    meridional: DiscStresses | None
    """Meridional stresses there."""
    _fields = {
        "deflection_m": ("deflection_m", None),
        "load_N": ("load_N", None),
        "difference": ("difference", None),
        "hoop": ("hoop", DiscStresses._read),
        "meridional": ("meridional", DiscStresses._read),
    }


class DiscAnswer(Record):
    """A coned disc by the standard's formulae and by the shell."""

    __slots__ = ('formula', 'shell', 'shell_peak', 'shell_valley', 'shell_stays', 'curve_deflection_m', 'curve_load_N',)
    formula: DiscReport
    """What the formulae say; its last row may lie at the case's stop or reach."""
    shell: list[DiscShell]
    """What the shell says at the same deflections."""
    shell_peak: tuple[float, float] | None
    """Deflection and load of the shell's first peak, m and N."""
    shell_valley: tuple[float, float] | None
    """The same of the valley after it."""
    shell_stays: bool | None
    """Whether the shell stays turned over; None when that is not known."""
    curve_deflection_m: np.ndarray
    """The formula's curve: deflections, m."""
    curve_load_N: np.ndarray
    """Its loads, N."""
    _fields = {
        "formula": ("formula", DiscReport._read),
        "shell": ("shell", lambda v: [(DiscShell._read)(x) for x in v]),
        "shell_peak": ("shell_peak", tuple),
        "shell_valley": ("shell_valley", tuple),
        "shell_stays": ("shell_stays", None),
        "curve_deflection_m": ("curve_deflection_m", array),
        "curve_load_N": ("curve_load_N", array),
    }


class Trade(Record):
    """What the trade would say of this path; None where the part or the load is another."""

    __slots__ = ('key', 'coned_disc',)
    key: KeyAnswer | None
    """A key or dome that is pressed."""
    coned_disc: DiscAnswer | None
    """A coned disc (disc spring)."""
    _fields = {
        "key": ("key", KeyAnswer._read),
        "coned_disc": ("coned_disc", DiscAnswer._read),
    }


class PathRow(Record):
    """One equilibrium of the path."""

    __slots__ = ('load_SI', 'displacement_SI', 'travel_m', 'energy_J', 'work_J', 'unstable_load', 'unstable_displacement', 'unstable_n', 'contact_m', 'rim_reaction_N',)
    load_SI: float
    """Load, positive along the push."""
    displacement_SI: float
    """Displacement that the load works on."""
    travel_m: float
    """Travel of the pole (or the edge of the hole) relative to the rim since the start, along the push, m."""
    energy_J: float
    """Elastic energy of the part, J (weight's potential not counted)."""
    work_J: float
    """Work done by the load since the start, J."""
    unstable_load: float
    """Unstable axisymmetric directions with the load set."""
    unstable_displacement: float
    """Unstable axisymmetric directions with the displacement set."""
    unstable_n: np.ndarray
    """Wave numbers n ≥ 1 that have lost their stability here."""
    contact_m: tuple[float, float] | None
    """Natural arclengths between which a pusher touches, m; None without one."""
    rim_reaction_N: float | None
    """Axial force of the support on the rim against the push, N (negative: the rim is held down)."""
    _fields = {
        "load_SI": ("load_SI", None),
        "displacement_SI": ("displacement_SI", None),
        "travel_m": ("travel_m", None),
        "energy_J": ("energy_J", None),
        "work_J": ("work_J", None),
        "unstable_load": ("unstable_load", None),
        "unstable_displacement": ("unstable_displacement", None),
        "unstable_n": ("unstable_n", array),
        "contact_m": ("contact_m", tuple),
        "rim_reaction_N": ("rim_reaction_N", None),
    }


PokeEventKind = Literal["load-peak", "load-valley", "displacement-limit", "displacement-return", "sideways", "sideways-regained", "no-load", "rim-lifts", "pole-lifts-off", "stop"]
"""What an event is."""


class BranchOff(Record):
    """The sideways branch near its bifurcation, to second order in its amplitude ξ (largest displacement, m)."""

    __slots__ = ('load_curvature_SI_per_m2', 'displacement_curvature_SI_per_m2', 'stable_by_load', 'stable_by_displacement', 'energy_gap_J_per_m4', 'slope_SI', 'path_slope_SI', 'trusted_to_m',)
    load_curvature_SI_per_m2: float
    """d²(load)/dξ² / 2 with ξ the largest displacement: load ≈ load* + curvature · ξ². Negative: the load falls."""
    displacement_curvature_SI_per_m2: float
    """The same for the displacement."""
    stable_by_load: bool
    """Whether the branch is stable at first with the load set."""
    stable_by_displacement: bool
    """The same with the displacement set."""
    energy_gap_J_per_m4: float
    """Energy gap to the axisymmetric state at the same load, per ξ⁴: ΔΠ ≈ gap · ξ⁴ (negative: lower)."""
    slope_SI: float | None
    """Slope of the load over displacement along the branch at its start, SI; the axisymmetric path's is `path_slope_SI`."""
    path_slope_SI: float | None
    """Slope of the load over displacement of the axisymmetric path there."""
    trusted_to_m: float
    """Amplitude at which the second-order terms are as large as the first: beyond it the estimate is a guess, m."""
    _fields = {
        "load_curvature_SI_per_m2": ("load_curvature_SI_per_m2", None),
        "displacement_curvature_SI_per_m2": ("displacement_curvature_SI_per_m2", None),
        "stable_by_load": ("stable_by_load", None),
        "stable_by_displacement": ("stable_by_displacement", None),
        "energy_gap_J_per_m4": ("energy_gap_J_per_m4", None),
        "slope_SI": ("slope_SI", None),
        "path_slope_SI": ("path_slope_SI", None),
        "trusted_to_m": ("trusted_to_m", None),
    }


class SidewaysMode(Record):
    """A sideways mode at its bifurcation."""

    __slots__ = ('n', 's_m', 'u', 'v', 'w', 'peak_at_m', 'branch',)
    n: float
    """Wave number."""
    s_m: np.ndarray
    """Natural arclength of the samples, m."""
    u: np.ndarray
    """Outward radial part `u cos nθ` of the displacement, scaled so that the largest part is 1."""
    v: np.ndarray
    """Circumferential part `v sin nθ`."""
    w: np.ndarray
    """Axial part `w cos nθ`."""
    peak_at_m: float
    """Natural arclength at which the displacement is largest, m."""
    branch: BranchOff | None
    """How the branch leaves; None when it was not computed."""
    _fields = {
        "n": ("n", None),
        "s_m": ("s_m", array),
        "u": ("u", array),
        "v": ("v", array),
        "w": ("w", array),
        "peak_at_m": ("peak_at_m", None),
        "branch": ("branch", BranchOff._read),
    }


class PokeEvent(Record):
    """A place on the path where something happens, refined to the digits shown in `bracket`."""

    __slots__ = ('kind', 'n', 'after_row', 'load_SI', 'displacement_SI', 'travel_m', 'energy_J', 'work_J', 'stable_before_load', 'stable_before_displacement', 'bracket', 'mesh_difference', 'meridian', 'mode',)
    kind: PokeEventKind
    """What happens."""
    n: float | None
    """Wave number of a sideways event."""
    after_row: float
    """Last row of the path before it."""
    load_SI: float
    """Load there."""
    displacement_SI: float
    """Displacement there."""
    travel_m: float
    """Travel of the pole, m."""
    energy_J: float
    """Elastic energy, J."""
    work_J: float
    """Work of the load up to here, J."""
    stable_before_load: bool
    """Whether the path is stable just before, with the load set."""
    stable_before_displacement: bool
    """The same with the displacement set."""
    bracket: float
    """Half-width of the bracket proved by signs on both sides, relative to the load."""
    mesh_difference: float | None
    """Relative difference of the load between two meshes; None where it was not confirmed."""
    meridian: SampledMeridian
    """Deformed meridian."""
    mode: SidewaysMode | None
    """Mode of a sideways event."""
    _fields = {
        "kind": ("kind", None),
        "n": ("n", None),
        "after_row": ("after_row", None),
        "load_SI": ("load_SI", None),
        "displacement_SI": ("displacement_SI", None),
        "travel_m": ("travel_m", None),
        "energy_J": ("energy_J", None),
        "work_J": ("work_J", None),
        "stable_before_load": ("stable_before_load", None),
        "stable_before_displacement": ("stable_before_displacement", None),
        "bracket": ("bracket", None),
        "mesh_difference": ("mesh_difference", None),
        "meridian": ("meridian", SampledMeridian._read),
        "mode": ("mode", SidewaysMode._read),
    }


class PokeEvidence(Record):
    """Evidence for a path."""

    __slots__ = ('ended', 'elements', 'elements_fine', 'residual', 'energy_work_gap', 'mesh_difference', 'largest_n', 'penetration', 'least_cosine', 'limits', 'work',)
    ended: str
    """Why following ended, in words."""
    elements: float
    """Elements of the mesh followed."""
    elements_fine: float
    """Elements of the finer mesh that confirms events."""
    residual: float | None
    """Largest out-of-balance force over the largest internal force at sampled points."""
    energy_work_gap: float | None
    """Largest |energy − work| over the largest energy on the path."""
    mesh_difference: float
    """Greatest mesh difference of a limit load."""
    largest_n: float
    """Largest wave number examined."""
    penetration: float | None
    """Deepest penetration of a rigid pusher over the thickness; None without one."""
    least_cosine: float
    """Least cosine between successive tangents."""
    limits: list[Limit]
    """Validity limits."""
    work: Work
    """Work done."""
    _fields = {
        "ended": ("ended", None),
        "elements": ("elements", None),
        "elements_fine": ("elements_fine", None),
        "residual": ("residual", None),
        "energy_work_gap": ("energy_work_gap", None),
        "mesh_difference": ("mesh_difference", None),
        "largest_n": ("largest_n", None),
        "penetration": ("penetration", None),
        "least_cosine": ("least_cosine", None),
        "limits": ("limits", lambda v: [(Limit._read)(x) for x in v]),
        "work": ("work", Work._read),
    }


class PokeReport(Record):
    """The whole answer."""

    __slots__ = ('schema_version', 'title', 'outcome', 'explanation', 'doubts', 'warnings', 'beyond', 'part', 'load', 'by_load', 'by_displacement', 'return_trip', 'snap', 'hysteresis', 'barriers', 'stays_afterwards', 'trade', 'initial_stiffness_SI', 'path', 'events', 'evidence',)
    schema_version: float
    """Version of the JSON layout."""
    title: str
    """Title of the case."""
    outcome: PokeOutcome
    """What happens under the way of driving that the case asks for."""
    explanation: list[str]
    """Why, in sentences."""
    doubts: list[str]
    """Reasons to doubt the outcome (empty when there are none)."""
    warnings: list[str]
    """Warnings and cautions."""
    beyond: list[str]
    """What the axisymmetric model cannot say about this part."""
    part: PartSummary
    """The part as computed."""
    load: LoadSummary
    """The load as understood."""
    by_load: Trip | None
    """First instability when the load is set."""
    by_displacement: Trip | None
    """First instability when the displacement is set."""
    return_trip: PokeReturn | None
    """How the part comes back when the load is taken off again (load set)."""
    snap: SnapRatios | None
    """Snap ratios, when the load falls after its first peak."""
    hysteresis: Hysteresis
    """Work of a full cycle of push and return that is not given back, J; by driving."""
    barriers: list[Barrier]
    """Energy barriers out of the unloaded states and under load."""
    stays_afterwards: bool | None
    """Whether a stable unloaded state other than the one poked is found along the path."""
    trade: Trade
    """The trade's own figures."""
    initial_stiffness_SI: float | None
    """Initial stiffness: load over displacement at the start of the path, SI."""
    path: list[PathRow]
    """The path, in the order it is followed."""
    events: list[PokeEvent]
    """Events along the path, in the order met."""
    evidence: PokeEvidence
    """Evidence."""
    _fields = {
        "schema_version": ("schema_version", None),
        "title": ("title", None),
        "outcome": ("outcome", None),
        "explanation": ("explanation", None),
        "doubts": ("doubts", None),
        "warnings": ("warnings", None),
        "beyond": ("beyond", None),
        "part": ("part", PartSummary._read),
        "load": ("load", LoadSummary._read),
        "by_load": ("by_load", Trip._read),
        "by_displacement": ("by_displacement", Trip._read),
        "return_trip": ("return_trip", PokeReturn._read),
        "snap": ("snap", SnapRatios._read),
        "hysteresis": ("hysteresis", Hysteresis._read),
        "barriers": ("barriers", lambda v: [(Barrier._read)(x) for x in v]),
        "stays_afterwards": ("stays_afterwards", None),
        "trade": ("trade", Trade._read),
        "initial_stiffness_SI": ("initial_stiffness_SI", None),
        "path": ("path", lambda v: [(PathRow._read)(x) for x in v]),
        "events": ("events", lambda v: [(PokeEvent._read)(x) for x in v]),
        "evidence": ("evidence", PokeEvidence._read),
    }


ReleaseOutcome = Literal["stays", "returns", "waits", "undecided"]
"""What happens when the part is let go."""


class MemoryTerm(Record):
    """One relaxing share."""

    __slots__ = ('share', 'time_s',)
    share: float
    """Share of the instantaneous modulus."""
    time_s: float
    """Relaxation time at the temperature of the case."""
    _fields = {
        "share": ("share", None),
        "time_s": ("time_s", None),
    }


class Protocol(Record):
    """How the part was turned, held and let go; always told with the answer."""

    __slots__ = ('shape', 'hold_s', 'ramp_s', 'rests', 'gravity_m_per_s2', 'temperature_K', 'memory', 'hand_force_N', 'words',)
    shape: str
    """`mirror`, `inverted`, `poke`, `flat` or `given`."""
    hold_s: float
    """How long it was held."""
    ramp_s: float
    """Time in which the hand lets go; 0 for at once."""
    rests: str
    """`nowhere` or `table`."""
    gravity_m_per_s2: float
    """Gravity towards the table."""
    temperature_K: float | None
    """Temperature, when stated."""
    memory: list[MemoryTerm]
    """Terms of the memory at that temperature."""
    hand_force_N: float
    """Axial force of the hand at the end of the hold: half the sum of its magnitudes on the nodes. (A free edge is held by moments beside it.)"""
    words: list[str]
    """The whole protocol in sentences."""
    _fields = {
        "shape": ("shape", None),
        "hold_s": ("hold_s", None),
        "ramp_s": ("ramp_s", None),
        "rests": ("rests", None),
        "gravity_m_per_s2": ("gravity_m_per_s2", None),
        "temperature_K": ("temperature_K", None),
        "memory": ("memory", lambda v: [(MemoryTerm._read)(x) for x in v]),
        "hand_force_N": ("hand_force_N", None),
        "words": ("words", None),
    }


class Definition(Record):
    """A word and what is meant by it."""

    __slots__ = ('word', 'meaning',)
    word: str
    """The word."""
    meaning: str
    """Its meaning."""
    _fields = {
        "word": ("word", None),
        "meaning": ("meaning", None),
    }


class Scales(Record):
    """Own times of the part."""

    __slots__ = ('wave_time_s', 'bending_time_s', 'natural_frequency_Hz',)
    wave_time_s: float
    """`R √(ρ/E)`: time in which a stretching wave runs one radius."""
    bending_time_s: float
    """`ℓ² √(ρh/D)`: time of bending over the arc ℓ, h and D at the rim."""
    natural_frequency_Hz: float | None
    """Lowest axisymmetric frequency of the natural state."""
    _fields = {
        "wave_time_s": ("wave_time_s", None),
        "bending_time_s": ("bending_time_s", None),
        "natural_frequency_Hz": ("natural_frequency_Hz", None),
    }


class Snap(Record):
    """When it snaps and how fast."""

    __slots__ = ('wait_s', 'snap_time_s', 'halfway_s', 'end_s', 'peak_speed_m_per_s', 'peak_speed_at_s', 'energy_available_J', 'kinetic_energy_J', 'creep_wait_s',)
    wait_s: float
    """See the definitions: the time until the snap begins."""
    snap_time_s: float
    """From the end of the wait to nine tenths of the way."""
    halfway_s: float
    """Pole and rim at one height."""
    end_s: float
    """Nine tenths of the way done."""
    peak_speed_m_per_s: float
    """Largest speed of the pole against the rim, up to the end of the snap."""
    peak_speed_at_s: float
    """When."""
    energy_available_J: float
    """Elastic energy at the start less that of the natural state at rest."""
    kinetic_energy_J: float
    """Kinetic energy at the end of the snap."""
    creep_wait_s: float | None
    """`wait_s` without inertia (a memory that creeps to the end of its equilibrium); None when there is none."""
    _fields = {
        "wait_s": ("wait_s", None),
        "snap_time_s": ("snap_time_s", None),
        "halfway_s": ("halfway_s", None),
        "end_s": ("end_s", None),
        "peak_speed_m_per_s": ("peak_speed_m_per_s", None),
        "peak_speed_at_s": ("peak_speed_at_s", None),
        "energy_available_J": ("energy_available_J", None),
        "kinetic_energy_J": ("kinetic_energy_J", None),
        "creep_wait_s": ("creep_wait_s", None),
    }


class ReleaseJump(Record):
    """Leaving the table."""

    __slots__ = ('takeoff_s', 'takeoff_speed_m_per_s', 'height_m', 'height_marched', 'height_bound_m', 'flight_energy_J', 'impulse_N_s', 'impulse_closure', 'largest_reaction_N', 'landing_s',)
    takeoff_s: float
    """When it leaves the table for the flight."""
    takeoff_speed_m_per_s: float
    """Speed of the centre of mass then."""
    height_m: float
    """Largest rise of the centre of mass above its place at the start: marched to when the motion is followed that far, else that of a free flight (with the drag of the case) from take-off."""
    height_marched: bool
    """Whether the height was marched to."""
    height_bound_m: float
    """Upper bound: energy available over weight."""
    flight_energy_J: float
    """Flight energy `½ m v²` at take-off."""
    impulse_N_s: float
    """Impulse of the table up to take-off."""
    impulse_closure: float
    """Momentum gained plus weight times time, less the impulses of table, hand, air and bath, over that of the table: should vanish."""
    largest_reaction_N: float
    """Largest reaction of the table."""
    landing_s: float | None
    """Landing, when marched to."""
    _fields = {
        "takeoff_s": ("takeoff_s", None),
        "takeoff_speed_m_per_s": ("takeoff_speed_m_per_s", None),
        "height_m": ("height_m", None),
        "height_marched": ("height_marched", None),
        "height_bound_m": ("height_bound_m", None),
        "flight_energy_J": ("flight_energy_J", None),
        "impulse_N_s": ("impulse_N_s", None),
        "impulse_closure": ("impulse_closure", None),
        "largest_reaction_N": ("largest_reaction_N", None),
        "landing_s": ("landing_s", None),
    }


class Ringing(Record):
    """Ringing."""

    __slots__ = ('frequency_Hz', 'from_s', 'to_s', 'periods', 'amplitude_m',)
    frequency_Hz: float
    """From the crossings of the pole height with its mean over the window."""
    from_s: float
    """Window."""
    to_s: float
    """Window."""
    periods: float
    """Whole periods in it."""
    amplitude_m: float
    """Half the range of the pole height in the window."""
    _fields = {
        "frequency_Hz": ("frequency_Hz", None),
        "from_s": ("from_s", None),
        "to_s": ("to_s", None),
        "periods": ("periods", None),
        "amplitude_m": ("amplitude_m", None),
    }


class EnergyRow(Record):
    """Energies at one moment; their sum less the work of the hand is constant."""

    __slots__ = ('moment', 'time_s', 'kinetic_J', 'elastic_J', 'gravity_J', 'contact_J', 'relaxed_J', 'dragged_J', 'hand_J',)
    moment: str
    """What moment."""
    time_s: float
    """When."""
    kinetic_J: float
    """Kinetic."""
    elastic_J: float
    """Elastic, of wall and rim springs, with what the memory still holds."""
    gravity_J: float
    """Weight times height of the centre of mass, from the start."""
    contact_J: float
    """Kept in the contact with the table."""
    relaxed_J: float
    """Lost in the memory since letting go."""
    dragged_J: float
    """Lost in air and bath since letting go."""
    hand_J: float
    """Work of the hand while letting go."""
    _fields = {
        "moment": ("moment", None),
        "time_s": ("time_s", None),
        "kinetic_J": ("kinetic_J", None),
        "elastic_J": ("elastic_J", None),
        "gravity_J": ("gravity_J", None),
        "contact_J": ("contact_J", None),
        "relaxed_J": ("relaxed_J", None),
        "dragged_J": ("dragged_J", None),
        "hand_J": ("hand_J", None),
    }


class ReleaseEvent(Record):
    """Something that happened."""

    __slots__ = ('time_s', 'kind', 'what',)
    time_s: float
    """When."""
    kind: str
    """`let-go`, `gone`, `snap`, `halfway`, `snapped`, `lift-off`, `touch-down`, `take-off`, `apex`, `landing`."""
    what: str
    """In words."""
    _fields = {
        "time_s": ("time_s", None),
        "kind": ("kind", None),
        "what": ("what", None),
    }


class History(Record):
    """Columns of one length, one row per step."""

    __slots__ = ('time_s', 'pole_over_rim_m', 'pole_over_rim_speed_m_per_s', 'pole_height_m', 'rim_height_m', 'centre_height_m', 'centre_speed_m_per_s', 'reaction_N', 'kinetic_J', 'elastic_J', 'gravity_J', 'contact_J', 'relaxed_J', 'dragged_J', 'hand_J',)
    time_s: np.ndarray
    """Time."""
    pole_over_rim_m: np.ndarray
    """Pole (or hole edge) above rim; positive inverted, minus the rise when natural."""
    pole_over_rim_speed_m_per_s: np.ndarray
    """Speed of that."""
    pole_height_m: np.ndarray
    """Height of the pole; the table, where there is one, is at 0, else the rim starts there."""
    rim_height_m: np.ndarray
    """Height of the rim."""
    centre_height_m: np.ndarray
    """Height of the centre of mass."""
    centre_speed_m_per_s: np.ndarray
    """Speed of the centre of mass."""
    reaction_N: np.ndarray
    """Reaction of the table."""
    kinetic_J: np.ndarray
    """Kinetic energy."""
    elastic_J: np.ndarray
    """Elastic energy."""
    gravity_J: np.ndarray
    """Gravity energy."""
    contact_J: np.ndarray
    """Energy in contact."""
    relaxed_J: np.ndarray
    """Lost in the memory so far."""
    dragged_J: np.ndarray
    """Lost in air and bath so far."""
    hand_J: np.ndarray
    """Work of the hand so far."""
    _fields = {
        "time_s": ("time_s", array),
        "pole_over_rim_m": ("pole_over_rim_m", array),
        "pole_over_rim_speed_m_per_s": ("pole_over_rim_speed_m_per_s", array),
        "pole_height_m": ("pole_height_m", array),
        "rim_height_m": ("rim_height_m", array),
        "centre_height_m": ("centre_height_m", array),
        "centre_speed_m_per_s": ("centre_speed_m_per_s", array),
        "reaction_N": ("reaction_N", array),
        "kinetic_J": ("kinetic_J", array),
        "elastic_J": ("elastic_J", array),
        "gravity_J": ("gravity_J", array),
        "contact_J": ("contact_J", array),
        "relaxed_J": ("relaxed_J", array),
        "dragged_J": ("dragged_J", array),
        "hand_J": ("hand_J", array),
    }


class ReleaseFrame(Record):
    """A shape at one time."""

    __slots__ = ('time_s', 'r_m', 'z_m',)
    time_s: float
    """When."""
    r_m: np.ndarray
    """Radii from pole (or hole edge) to rim."""
    z_m: np.ndarray
    """Heights, origin as in the history."""
    _fields = {
        "time_s": ("time_s", None),
        "r_m": ("r_m", array),
        "z_m": ("z_m", array),
    }


class Sideways(Record):
    """Growth of a sideways deflection along the motion (linearised)."""

    __slots__ = ('n', 'start_m', 'largest_m', 'largest_at_s', 'growth', 'unstable_modes', 'wins', 'time_s', 'amplitude_m',)
    n: float
    """Circumferential wave number."""
    start_m: float
    """Amplitude when the hand is gone: largest deflection anywhere."""
    largest_m: float
    """Largest amplitude up to the end of the snap."""
    largest_at_s: float
    """When."""
    growth: float
    """Growth: largest over start."""
    unstable_modes: float
    """Largest number of unstable modes of this wave number at any step where they could be counted."""
    wins: bool
    """Whether the deflection exceeds the wall's thickness before the snap ends: the motion is then not axisymmetric."""
    time_s: np.ndarray
    """Times of the samples."""
    amplitude_m: np.ndarray
    """Amplitudes."""
    _fields = {
        "n": ("n", None),
        "start_m": ("start_m", None),
        "largest_m": ("largest_m", None),
        "largest_at_s": ("largest_at_s", None),
        "growth": ("growth", None),
        "unstable_modes": ("unstable_modes", None),
        "wins": ("wins", None),
        "time_s": ("time_s", array),
        "amplitude_m": ("amplitude_m", array),
    }


class ReleaseEvidence(Record):
    """Evidence."""

    __slots__ = ('elements', 'balance_to_snap', 'balance_whole', 'mesh_difference', 'step_difference', 'speed_difference', 'deepest_contact', 'tolerance', 'steps', 'refused', 'iterations', 'factorisations', 'followed_s', 'ended', 'largest_strain', 'limits',)
    elements: float
    """Elements."""
    balance_to_snap: float | None
    """Largest change of the energy balance up to the end of the snap (or the whole run without one), over the energy available."""
    balance_whole: float | None
    """The same over the whole run."""
    mesh_difference: float | None
    """Relative change of the half-way time with every element halved."""
    step_difference: float | None
    """Relative change of the half-way time with a tenth of the tolerance."""
    speed_difference: float | None
    """Relative change of the peak speed between those runs, the larger of both."""
    deepest_contact: float
    """Deepest the wall was pressed into the table, over its thickness."""
    tolerance: float
    """Local error allowed, over the rise."""
    steps: float
    """Steps taken."""
    refused: float
    """Steps refused."""
    iterations: float
    """Newton iterations."""
    factorisations: float
    """Factorisations (one real and one complex band each count one)."""
    followed_s: float
    """Time followed."""
    ended: str
    """Why it ended there."""
    largest_strain: float
    """Largest surface strain on the way, as sampled in the frames."""
    limits: list[Limit]
    """Validity limits."""
    _fields = {
        "elements": ("elements", None),
        "balance_to_snap": ("balance_to_snap", None),
        "balance_whole": ("balance_whole", None),
        "mesh_difference": ("mesh_difference", None),
        "step_difference": ("step_difference", None),
        "speed_difference": ("speed_difference", None),
        "deepest_contact": ("deepest_contact", None),
        "tolerance": ("tolerance", None),
        "steps": ("steps", None),
        "refused": ("refused", None),
        "iterations": ("iterations", None),
        "factorisations": ("factorisations", None),
        "followed_s": ("followed_s", None),
        "ended": ("ended", None),
        "largest_strain": ("largest_strain", None),
        "limits": ("limits", lambda v: [(Limit._read)(x) for x in v]),
    }


class WaitPoint(Record):
    """One hold."""

    __slots__ = ('hold_s', 'wait_s', 'rests', 'stays',)
    hold_s: float
    """How long it was held."""
    wait_s: float | None
    """How long it waits; infinite waits are None with `stays`; None with `rests` alone where no end was found or the part gives way sideways."""
    rests: bool
    """Whether it rests in equilibrium first (else only inertia delays it)."""
    stays: bool
    """Whether it stays for ever."""
    _fields = {
        "hold_s": ("hold_s", None),
        "wait_s": ("wait_s", None),
        "rests": ("rests", None),
        "stays": ("stays", None),
    }


class WaitCurve(Record):
    """Wait against hold time."""

    __slots__ = ('points', 'shortest_hold_s', 'words',)
    points: list[WaitPoint]
    """Points, hold time rising."""
    shortest_hold_s: float | None
    """Shortest hold after which the part rests a while in equilibrium; None when none in the range does, or all do."""
    words: list[str]
    """What was found, in sentences."""
    _fields = {
        "points": ("points", lambda v: [(WaitPoint._read)(x) for x in v]),
        "shortest_hold_s": ("shortest_hold_s", None),
        "words": ("words", None),
    }


class Quantile(Record):
    """A quantile."""

    __slots__ = ('share', 'wait_s',)
    share: float
    """Share of draws at or below it."""
    wait_s: float | None
    """Wait; None when the draw at this share stays."""
    _fields = {
        "share": ("share", None),
        "wait_s": ("wait_s", None),
    }


class WaitSensitivity(Record):
    """Effect of one input on the wait."""

    __slots__ = ('input', 'relative_slope', 'at_low_s', 'at_high_s', 'share',)
    input: str
    """Key in the case file."""
    relative_slope: float | None
    """d ln(wait) / d ln(input); None when the wait has no slope there (an end stays or does not rest) or the input is 0."""
    at_low_s: float | None
    """Wait with the input at the lower end of its tolerance, all else as given; None when it stays."""
    at_high_s: float | None
    """The same at the upper end."""
    share: float
    """Share of the variance of the ranks of the waits (first order, by regression on the ranks of the input); shares below about two over the number of draws are noise."""
    _fields = {
        "input": ("input", None),
        "relative_slope": ("relative_slope", None),
        "at_low_s": ("at_low_s", None),
        "at_high_s": ("at_high_s", None),
        "share": ("share", None),
    }


class WaitSpread(Record):
    """Spread of the wait from tolerances and scatter."""

    __slots__ = ('drawn', 'stay', 'wait', 'at_once', 'unknown', 'quantiles', 'sensitivities', 'words',)
    drawn: float
    """Parts drawn."""
    stay: float
    """Share that stays for ever."""
    wait: float
    """Share that rests a while and returns."""
    at_once: float
    """Share that returns without resting."""
    unknown: float
    """Share for which no answer was found."""
    quantiles: list[Quantile]
    """Quantiles of the wait over all answered draws, those that stay counted as longer than any: share and wait (None: stays)."""
    sensitivities: list[WaitSensitivity]
    """Effect of each input, the largest share first."""
    words: list[str]
    """Why it spreads so, in sentences."""
    _fields = {
        "drawn": ("drawn", None),
        "stay": ("stay", None),
        "wait": ("wait", None),
        "at_once": ("at_once", None),
        "unknown": ("unknown", None),
        "quantiles": ("quantiles", lambda v: [(Quantile._read)(x) for x in v]),
        "sensitivities": ("sensitivities", lambda v: [(WaitSensitivity._read)(x) for x in v]),
        "words": ("words", None),
    }


class Delay(Record):
    """A delay."""

    __slots__ = ('distance', 'time_s', 'exponent',)
    distance: float
    """h/h* − 1 > 0."""
    time_s: float
    """Half-way time, s."""
    exponent: float | None
    """d ln(time)/d ln(distance) at this point, from its neighbours; None at the ends."""
    _fields = {
        "distance": ("distance", None),
        "time_s": ("time_s", None),
        "exponent": ("exponent", None),
    }


class Slow(Record):
    """A frequency."""

    __slots__ = ('distance', 'frequency_Hz', 'exponent',)
    distance: float
    """1 − h/h* > 0."""
    frequency_Hz: float
    """Lowest axisymmetric frequency of the inverted state."""
    exponent: float | None
    """d ln(frequency)/d ln(distance) here; None at the ends."""
    _fields = {
        "distance": ("distance", None),
        "frequency_Hz": ("frequency_Hz", None),
        "exponent": ("exponent", None),
    }


class Slowing(Record):
    """Slowing down near the threshold."""

    __slots__ = ('threshold_thickness_m', 'elastic', 'damped', 'frequencies', 'words',)
    threshold_thickness_m: float
    """Threshold thickness."""
    elastic: list[Delay]
    """Delay of the elastic part from rest in the fold's shape, beyond the threshold."""
    damped: list[Delay]
    """The same in a bath so thick that inertia does not count: times in units of the bath's own, see the words."""
    frequencies: list[Slow]
    """Lowest frequency of the inverted state, below the threshold."""
    words: list[str]
    """What was found, in sentences."""
    _fields = {
        "threshold_thickness_m": ("threshold_thickness_m", None),
        "elastic": ("elastic", lambda v: [(Delay._read)(x) for x in v]),
        "damped": ("damped", lambda v: [(Delay._read)(x) for x in v]),
        "frequencies": ("frequencies", lambda v: [(Slow._read)(x) for x in v]),
        "words": ("words", None),
    }


class ReleaseWhole(Record):
    """The answer with what was asked for beside it."""

    __slots__ = ('schema_version', 'title', 'outcome', 'explanation', 'doubts', 'warnings', 'part', 'protocol', 'definitions', 'scales', 'snap', 'jump', 'ringing', 'energies', 'events', 'history', 'frames', 'sideways', 'evidence', 'wait_curve', 'spread', 'slowing',)
    schema_version: float
    """Version of the JSON layout."""
    title: str
    """Title of the case."""
    outcome: ReleaseOutcome
    """What happens."""
    explanation: list[str]
    """Why, in sentences."""
    doubts: list[str]
    """Reasons to doubt the outcome (empty when there are none)."""
    warnings: list[str]
    """Warnings and cautions."""
    part: PartSummary
    """The part as computed."""
    protocol: Protocol
    """How it was turned, held and let go."""
    definitions: list[Definition]
    """What the words below mean."""
    scales: Scales
    """Own times of the part."""
    snap: Snap | None
    """When it snaps and how fast; None when it does not within the time followed."""
    jump: ReleaseJump | None
    """Jump; None when it leaves nothing to jump from, or does not leave it."""
    ringing: Ringing | None
    """Ringing after the snap (or about the state where it stays)."""
    energies: list[EnergyRow]
    """Energies at the moments that matter."""
    events: list[ReleaseEvent]
    """What happened, in order."""
    history: History
    """Time history, one row per step taken."""
    frames: list[ReleaseFrame]
    """Shapes for pictures, in order of time."""
    sideways: list[Sideways]
    """Growth of sideways deflections, when asked for."""
    evidence: ReleaseEvidence
    """Evidence."""
    wait_curve: WaitCurve | None
    spread: WaitSpread | None
    slowing: Slowing | None
    _fields = {
        "schema_version": ("schema_version", None),
        "title": ("title", None),
        "outcome": ("outcome", None),
        "explanation": ("explanation", None),
        "doubts": ("doubts", None),
        "warnings": ("warnings", None),
        "part": ("part", PartSummary._read),
        "protocol": ("protocol", Protocol._read),
        "definitions": ("definitions", lambda v: [(Definition._read)(x) for x in v]),
        "scales": ("scales", Scales._read),
        "snap": ("snap", Snap._read),
        "jump": ("jump", ReleaseJump._read),
        "ringing": ("ringing", Ringing._read),
        "energies": ("energies", lambda v: [(EnergyRow._read)(x) for x in v]),
        "events": ("events", lambda v: [(ReleaseEvent._read)(x) for x in v]),
        "history": ("history", History._read),
        "frames": ("frames", lambda v: [(ReleaseFrame._read)(x) for x in v]),
        "sideways": ("sideways", lambda v: [(Sideways._read)(x) for x in v]),
        "evidence": ("evidence", ReleaseEvidence._read),
        "wait_curve": ("wait_curve", WaitCurve._read),
        "spread": ("spread", WaitSpread._read),
        "slowing": ("slowing", Slowing._read),
    }


class Axis(Record):
    """An axis: one number of the case."""

    __slots__ = ('key', 'label', 'unit', 'unit_si', 'low_si', 'high_si', 'here_si', 'here_half_width_si',)
    key: str
    """Key in the case file, e.g. `wall.thickness`; `depth` for the depth of the part."""
    label: str
    """In words, e.g. "thickness"."""
    unit: str
    """Unit for display."""
    unit_si: float
    """SI value of one display unit."""
    low_si: float
    """Lower end, SI."""
    high_si: float
    """Upper end, SI."""
    here_si: float
    """Value in the case, SI."""
    here_half_width_si: float | None
    """Half-width of its tolerance, SI."""
    _fields = {
        "key": ("key", None),
        "label": ("label", None),
        "unit": ("unit", None),
        "unit_si": ("unit_si", None),
        "low_si": ("low_si", None),
        "high_si": ("high_si", None),
        "here_si": ("here_si", None),
        "here_half_width_si": ("here_half_width_si", None),
    }


class PlaneCurve(Record):
    """A curve in the plane, followed directly."""

    __slots__ = ('x_si', 'y_si', 'cusps', 'ends',)
    x_si: np.ndarray
    """Horizontal values, SI."""
    y_si: np.ndarray
    """Vertical values, SI."""
    cusps: np.ndarray
    """Indices of points that are cusps, where the curve turns back on itself."""
    ends: tuple[str, str]
    """Why it ends, in words: at its first and its last point."""
    _fields = {
        "x_si": ("x_si", array),
        "y_si": ("y_si", array),
        "cusps": ("cusps", array),
        "ends": ("ends", tuple),
    }


class WaitingCurves(Record):
    """End of the band in which a relaxed part rests a while."""

    __slots__ = ('hold', 'loss', 'curves',)
    hold: str
    """After which hold: `as held` for that of the case (at each place of the map, where an axis changes it), `relaxed` after a hold without end."""
    loss: float
    """Share of the modulus lost at constant strain, at the numbers of the case."""
    curves: list[PlaneCurve]
    """The curves."""
    _fields = {
        "hold": ("hold", None),
        "loss": ("loss", None),
        "curves": ("curves", lambda v: [(PlaneCurve._read)(x) for x in v]),
    }


class MarginCurves(Record):
    """Curves of one margin."""

    __slots__ = ('ratio', 'curves',)
    ratio: float
    """h/h*."""
    curves: list[PlaneCurve]
    """The curves."""
    _fields = {
        "ratio": ("ratio", None),
        "curves": ("curves", lambda v: [(PlaneCurve._read)(x) for x in v]),
    }


class TripCurves(Record):
    """Curves of one trip load."""

    __slots__ = ('load_SI', 'load_unit', 'curves',)
    load_SI: float
    """Load."""
    load_unit: str
    """Its unit."""
    curves: list[PlaneCurve]
    """The curves."""
    _fields = {
        "load_SI": ("load_SI", None),
        "load_unit": ("load_unit", None),
        "curves": ("curves", lambda v: [(PlaneCurve._read)(x) for x in v]),
    }


class ValidityCurves(Record):
    """One validity limit in the plane."""

    __slots__ = ('name', 'limit', 'curves',)
    name: str
    """What is limited, e.g. "h/R, thin-shell theory"."""
    limit: float
    """The limit."""
    curves: list[PlaneCurve]
    """The curves; the limit is passed on the side of larger thickness."""
    _fields = {
        "name": ("name", None),
        "limit": ("limit", None),
        "curves": ("curves", lambda v: [(PlaneCurve._read)(x) for x in v]),
    }


class Grid(Record):
    """A grid of verdicts, row by row from the lowest y; x runs fastest."""

    __slots__ = ('x_si', 'y_si', 'verdicts', 'thickness_ratio',)
    x_si: np.ndarray
    """Horizontal values, SI."""
    y_si: np.ndarray
    """Vertical values, SI."""
    verdicts: list[Verdict | None]
    """One per cell; None where no such part exists."""
    thickness_ratio: np.ndarray
    """h/h* per cell."""
    _fields = {
        "x_si": ("x_si", array),
        "y_si": ("y_si", array),
        "verdicts": ("verdicts", None),
        "thickness_ratio": ("thickness_ratio", array),
    }


class SweptPoints(Record):
    """Points of a sweep, in its order."""

    __slots__ = ('title', 'plan_digest', 'planned', 'x_si', 'y_si', 'verdicts', 'thickness_ratio',)
    title: str
    """Title of the sweep."""
    plan_digest: str
    """Digest of its plan."""
    planned: float
    """Points of the plan; fewer are here where chunks are missing."""
    x_si: np.ndarray
    """Horizontal values, SI."""
    y_si: np.ndarray
    """Vertical values, SI."""
    verdicts: list[Verdict | None]
    """One per point; None where there is no such part or no answer."""
    thickness_ratio: np.ndarray
    """h/h* per point."""
    _fields = {
        "title": ("title", None),
        "plan_digest": ("plan_digest", None),
        "planned": ("planned", None),
        "x_si": ("x_si", array),
        "y_si": ("y_si", array),
        "verdicts": ("verdicts", None),
        "thickness_ratio": ("thickness_ratio", array),
    }


Observed = Literal["stays", "returns", "waits"]
"""What was seen of a specimen."""


Comparison = Literal["agrees", "within-tolerance", "contradicted", "open"]
"""Prediction against observation."""


class Specimen(Record):
    """One measured specimen."""

    __slots__ = ('name', 'x_si', 'y_si', 'x_half_width_si', 'y_half_width_si', 'observed', 'predicted', 'thickness_ratio', 'ratio_half_width', 'comparison',)
    name: str
    """Name."""
    x_si: float
    """Horizontal value, SI."""
    y_si: float
    """Vertical value, SI."""
    x_half_width_si: float | None
    """Half-width of the tolerance, SI."""
    y_half_width_si: float | None
    """Half-width of the tolerance, SI."""
    observed: Observed | None
    """What was seen; None when nothing was noted."""
    predicted: Verdict
    """What is predicted at the values given."""
    thickness_ratio: float | None
    """h/h* there."""
    ratio_half_width: float | None
    """Half-width of h/h* from the tolerances of the two axes."""
    comparison: Comparison
    """How prediction and observation compare."""
    _fields = {
        "name": ("name", None),
        "x_si": ("x_si", None),
        "y_si": ("y_si", None),
        "x_half_width_si": ("x_half_width_si", None),
        "y_half_width_si": ("y_half_width_si", None),
        "observed": ("observed", None),
        "predicted": ("predicted", None),
        "thickness_ratio": ("thickness_ratio", None),
        "ratio_half_width": ("ratio_half_width", None),
        "comparison": ("comparison", None),
    }


class Counts(Record):
    """Specimens counted."""

    __slots__ = ('predicted_stay', 'predicted_return', 'observed_stay', 'observed_return', 'agree', 'within_tolerance', 'contradicted', 'open',)
    predicted_stay: float
    """Specimens with a prediction that they stay."""
    predicted_return: float
    """Specimens with a prediction that they return."""
    observed_stay: float
    """Specimens seen to stay."""
    observed_return: float
    """Specimens seen to return, at once or after a wait."""
    agree: float
    """Agreeing."""
    within_tolerance: float
    """Differing within the tolerances."""
    contradicted: float
    """Contradicted."""
    open: float
    """Without observation or prediction."""
    _fields = {
        "predicted_stay": ("predicted_stay", None),
        "predicted_return": ("predicted_return", None),
        "observed_stay": ("observed_stay", None),
        "observed_return": ("observed_return", None),
        "agree": ("agree", None),
        "within_tolerance": ("within_tolerance", None),
        "contradicted": ("contradicted", None),
        "open": ("open", None),
    }


class MapEvidence(Record):
    """Evidence for a map."""

    __slots__ = ('mesh_difference', 'checked_points', 'curve_points', 'newton_iterations',)
    mesh_difference: float
    """Greatest relative difference of a threshold point between two meshes."""
    checked_points: float
    """Points at which it was checked."""
    curve_points: float
    """Points computed on all curves."""
    newton_iterations: float
    """Extended systems solved."""
    _fields = {
        "mesh_difference": ("mesh_difference", None),
        "checked_points": ("checked_points", None),
        "curve_points": ("curve_points", None),
        "newton_iterations": ("newton_iterations", None),
    }


class MapReport(Record):
    """The whole map."""

    __slots__ = ('schema_version', 'title', 'axes', 'explanation', 'doubts', 'warnings', 'threshold', 'waiting', 'margins', 'snapping_first', 'trip_loads', 'validity', 'grid', 'points', 'specimens', 'counts', 'evidence',)
    schema_version: float
    """Version of the JSON layout."""
    title: str
    """Title of the case."""
    axes: tuple[Axis, Axis]
    """Horizontal and vertical axis."""
    explanation: list[str]
    """Sentences on what the map shows."""
    doubts: list[str]
    """What is doubtful."""
    warnings: list[str]
    """Warnings and cautions."""
    threshold: list[PlaneCurve]
    """Where an inverted part stops staying."""
    waiting: list[WaitingCurves]
    """Where the band ends in which a part waits: beyond the threshold and up to these curves."""
    margins: list[MarginCurves]
    """Curves of equal margin h/h*."""
    snapping_first: list[PlaneCurve]
    """Where a load–displacement path first has a limit: beyond it the part snaps."""
    trip_loads: list[TripCurves]
    """Curves of a given trip load."""
    validity: list[ValidityCurves]
    """Limits of validity."""
    grid: Grid | None
    """A grid of verdicts, where asked for."""
    points: SweptPoints | None
    """Points that a sweep has computed, where one is laid over the map."""
    specimens: list[Specimen]
    """Specimens laid over the map."""
    counts: Counts | None
    """Their counts."""
    evidence: MapEvidence
    """Evidence."""
    _fields = {
        "schema_version": ("schema_version", None),
        "title": ("title", None),
        "axes": ("axes", lambda v: ((Axis._read)(v[0]), (Axis._read)(v[1]),)),
        "explanation": ("explanation", None),
        "doubts": ("doubts", None),
        "warnings": ("warnings", None),
        "threshold": ("threshold", lambda v: [(PlaneCurve._read)(x) for x in v]),
        "waiting": ("waiting", lambda v: [(WaitingCurves._read)(x) for x in v]),
        "margins": ("margins", lambda v: [(MarginCurves._read)(x) for x in v]),
        "snapping_first": ("snapping_first", lambda v: [(PlaneCurve._read)(x) for x in v]),
        "trip_loads": ("trip_loads", lambda v: [(TripCurves._read)(x) for x in v]),
        "validity": ("validity", lambda v: [(ValidityCurves._read)(x) for x in v]),
        "grid": ("grid", Grid._read),
        "points": ("points", SweptPoints._read),
        "specimens": ("specimens", lambda v: [(Specimen._read)(x) for x in v]),
        "counts": ("counts", Counts._read),
        "evidence": ("evidence", MapEvidence._read),
    }


HeatOutcome = Literal["trips", "buckles", "follows", "undecided"]
"""What happens over the temperatures followed."""


class WallSummary(Record):
    """The wall and what heat alone would do to it."""

    __slots__ = ('layers', 'formed_at_K', 'temperature_K', 'face_difference_K', 'bending_per_K', 'expansion_per_K', 'flat_at_K',)
    layers: float
    """Number of layers."""
    formed_at_K: float
    """Temperature at which the shape is given, K."""
    temperature_K: float
    """Temperature of the case, K."""
    face_difference_K: float
    """Temperature of the concave face less that of the convex one, K."""
    bending_per_K: float
    """Curvature of a free wall per kelvin at the temperature at which the shape is given, times thickness, 1/K: the trade's flexivity when all layers have one Poisson ratio. Positive: heat bends the wall like the natural bowl."""
    expansion_per_K: float
    """Expansion of the middle of a free wall per kelvin there, 1/K."""
    flat_at_K: float | None
    """Temperature at which the free wall has lost the curvature of the described shape (the sphere through pole and rim), K."""
    _fields = {
        "layers": ("layers", None),
        "formed_at_K": ("formed_at_K", None),
        "temperature_K": ("temperature_K", None),
        "face_difference_K": ("face_difference_K", None),
        "bending_per_K": ("bending_per_K", None),
        "expansion_per_K": ("expansion_per_K", None),
        "flat_at_K": ("flat_at_K", None),
    }


class DeviceSummary(Record):
    """The device around the part."""

    __slots__ = ('preload_N', 'pin_gap_m', 'pin_stiffness_N_per_m', 'from_K', 'to_K',)
    preload_N: float
    """Force on the centre that acts all the time, N; positive towards the other state."""
    pin_gap_m: float | None
    """Travel of the centre at which it meets the pin, m."""
    pin_stiffness_N_per_m: float | None
    """Spring behind the pin, N/m; None for a rigid one, and without a pin."""
    from_K: float | None
    """Lowest temperature asked for, K."""
    to_K: float | None
    """Highest temperature asked for, K."""
    _fields = {
        "preload_N": ("preload_N", None),
        "pin_gap_m": ("pin_gap_m", None),
        "pin_stiffness_N_per_m": ("pin_stiffness_N_per_m", None),
        "from_K": ("from_K", None),
        "to_K": ("to_K", None),
    }


class HeatJump(Record):
    """A jump."""

    __slots__ = ('temperature_K', 'on', 'route', 'n', 'travel_before_m', 'travel_after_m', 'movement_m', 'lands_round', 'round_limit_K', 'released_J', 'pin_force_before_N', 'pin_force_after_N', 'mesh_difference_K', 'last_step',)
    temperature_K: float
    """Temperature, K."""
    on: str
    """`heating` or `cooling`."""
    route: str
    """`axisymmetric` or `sideways`."""
    n: float
    """Circumferential waves of the way it gives way; 0 for axisymmetric."""
    travel_before_m: float
    """Travel just before, m."""
    travel_after_m: float | None
    """Travel after it, at the same temperature, m."""
    movement_m: float | None
    """How far the centre jumps, m."""
    lands_round: bool | None
    """Whether the round shape that it lands on is stable against sideways waves; if not it ends in a wavy shape near it."""
    round_limit_K: float | None
    """Limit temperature of the round shapes on this way, K: where it jumps at the latest."""
    released_J: float | None
    """Energy set free, J."""
    pin_force_before_N: float
    """Push of the centre on the pin just before, N."""
    pin_force_after_N: float | None
    """And after, N."""
    mesh_difference_K: float | None
    """Difference of the temperature between two meshes, K."""
    last_step: float | None
    """Last step of Newton's method on it, relative to the whole range of the dish."""
    _fields = {
        "temperature_K": ("temperature_K", None),
        "on": ("on", None),
        "route": ("route", None),
        "n": ("n", None),
        "travel_before_m": ("travel_before_m", None),
        "travel_after_m": ("travel_after_m", None),
        "movement_m": ("movement_m", None),
        "lands_round": ("lands_round", None),
        "round_limit_K": ("round_limit_K", None),
        "released_J": ("released_J", None),
        "pin_force_before_N": ("pin_force_before_N", None),
        "pin_force_after_N": ("pin_force_after_N", None),
        "mesh_difference_K": ("mesh_difference_K", None),
        "last_step": ("last_step", None),
    }


class Buckling(Record):
    """A loss of the round or flat form."""

    __slots__ = ('temperature_K', 'on', 'n', 'mesh_difference_K',)
    temperature_K: float
    """Temperature, K."""
    on: str
    """`heating` or `cooling`."""
    n: float
    """Circumferential waves; 0: other round shapes branch off."""
    mesh_difference_K: float | None
    """Difference of the temperature between two meshes, K."""
    _fields = {
        "temperature_K": ("temperature_K", None),
        "on": ("on", None),
        "n": ("n", None),
        "mesh_difference_K": ("mesh_difference_K", None),
    }


class Creep(Record):
    """Slow movement."""

    __slots__ = ('from_K', 'travel_m', 'at_first_m_per_K',)
    from_K: float
    """Counted from this temperature, K."""
    travel_m: float
    """Travel from there to the trip, m."""
    at_first_m_per_K: float
    """Travel per kelvin at the start, m/K."""
    _fields = {
        "from_K": ("from_K", None),
        "travel_m": ("travel_m", None),
        "at_first_m_per_K": ("at_first_m_per_K", None),
    }


class Move(Record):
    """What one number of the case does."""

    __slots__ = ('input', 'value', 'trip_K_per_SI', 'reset_K_per_SI', 'trip_K_per_percent', 'reset_K_per_percent', 'trip_half_width_K', 'reset_half_width_K',)
    input: str
    """Key of the case file, or `depth` for the rise of the dish (see `depth_rule`), or `thickness` for all thicknesses by one factor."""
    value: float
    """Its value, SI."""
    trip_K_per_SI: float | None
    """Change of the trip temperature per unit of it, K per SI."""
    reset_K_per_SI: float | None
    """Change of the reset temperature per unit of it, K per SI."""
    trip_K_per_percent: float | None
    """Change of the trip temperature for one per cent more of it, K."""
    reset_K_per_percent: float | None
    """Change of the reset temperature for one per cent more of it, K."""
    trip_half_width_K: float | None
    """Half-width that its tolerance gives the trip temperature, K."""
    reset_half_width_K: float | None
    """Half-width that its tolerance gives the reset temperature, K."""
    _fields = {
        "input": ("input", None),
        "value": ("value", None),
        "trip_K_per_SI": ("trip_K_per_SI", None),
        "reset_K_per_SI": ("reset_K_per_SI", None),
        "trip_K_per_percent": ("trip_K_per_percent", None),
        "reset_K_per_percent": ("reset_K_per_percent", None),
        "trip_half_width_K": ("trip_half_width_K", None),
        "reset_half_width_K": ("reset_half_width_K", None),
    }


class Tolerance(Record):
    """All tolerances together."""

    __slots__ = ('trip_half_width_K', 'reset_half_width_K',)
    trip_half_width_K: float | None
    """Trip temperature, K."""
    reset_half_width_K: float | None
    """Reset temperature, K."""
    _fields = {
        "trip_half_width_K": ("trip_half_width_K", None),
        "reset_half_width_K": ("reset_half_width_K", None),
    }


class HeatCycle(Record):
    """Energy over a cycle, J."""

    __slots__ = ('lost_J', 'put_in_J', 'gap',)
    lost_J: float
    """Set free by both jumps."""
    put_in_J: float
    """∮ ∂Π/∂T dT along both branches: what heat puts in."""
    gap: float | None
    """Difference over the larger."""
    _fields = {
        "lost_J": ("lost_J", None),
        "put_in_J": ("put_in_J", None),
        "gap": ("gap", None),
    }


class HeatShape(Record):
    """A shape."""

    __slots__ = ('name', 'temperature_K', 'meridian',)
    name: str
    """`as given`, `before the trip`, `after the trip`, `before the reset`, `after the reset`."""
    temperature_K: float
    """Temperature, K."""
    meridian: SampledMeridian
    """The deformed meridian."""
    _fields = {
        "name": ("name", None),
        "temperature_K": ("temperature_K", None),
        "meridian": ("meridian", SampledMeridian._read),
    }


class HeatRow(Record):
    """One equilibrium."""

    __slots__ = ('temperature_K', 'travel_m', 'rim_slope_rad', 'energy_J', 'pin_force_N', 'unstable', 'unstable_n',)
    temperature_K: float
    """Temperature, K."""
    travel_m: float
    """Travel of the centre, m."""
    rim_slope_rad: float
    """Slope of the rim, rad."""
    energy_J: float
    """Elastic energy of part and spring less the work of the preload, J."""
    pin_force_N: float
    """Push of the centre on the pin, N."""
    unstable: float
    """Unstable axisymmetric directions."""
    unstable_n: np.ndarray
    """Waves n ≥ 1 that are lost (looked for where the round shape is stable)."""
    _fields = {
        "temperature_K": ("temperature_K", None),
        "travel_m": ("travel_m", None),
        "rim_slope_rad": ("rim_slope_rad", None),
        "energy_J": ("energy_J", None),
        "pin_force_N": ("pin_force_N", None),
        "unstable": ("unstable", None),
        "unstable_n": ("unstable_n", array),
    }


class HeatEvidence(Record):
    """Evidence."""

    __slots__ = ('elements', 'elements_fine', 'largest_n', 'uncounted', 'limits', 'work', 'refinement',)
    elements: float
    """Elements, on both meshes."""
    elements_fine: float
    """On the finer."""
    largest_n: float
    """Largest n examined."""
    uncounted: float
    """Counts that failed."""
    limits: list[Limit]
    """Validity limits."""
    work: Work
    """Work."""
    refinement: Work | None
    """Work of finding trip and reset again for a part with other numbers (one refinement on the standard mesh)."""
    _fields = {
        "elements": ("elements", None),
        "elements_fine": ("elements_fine", None),
        "largest_n": ("largest_n", None),
        "uncounted": ("uncounted", None),
        "limits": ("limits", lambda v: [(Limit._read)(x) for x in v]),
        "work": ("work", Work._read),
        "refinement": ("refinement", Work._read),
    }


class HeatQuantile(Record):
    """One quantile."""

    __slots__ = ('share', 'at_K',)
    share: float
    """Share of the known draws at or below it."""
    at_K: float
    """Temperature or difference of temperatures, K."""
    _fields = {
        "share": ("share", None),
        "at_K": ("at_K", None),
    }


class HeatSpreadOfOne(Record):
    """How one temperature spreads."""

    __slots__ = ('known', 'beyond', 'none', 'unknown', 'quantiles', 'mean_K', 'two_deviations_K', 'first_order_half_width_K',)
    known: float
    """Share of the draws for which it is known and lies within the range."""
    beyond: float
    """Share for which it lies beyond the range asked for, or beyond what the layers tell."""
    none: float
    """Share of draws that move without a jump."""
    unknown: float
    """Share of draws for which it was not found, so that nothing is known."""
    quantiles: list[HeatQuantile]
    """Quantiles of those known."""
    mean_K: float | None
    """Mean of those known, K."""
    two_deviations_K: float | None
    """Twice their standard deviation, K."""
    first_order_half_width_K: float | None
    """Half-width that the tolerances give to first order, K: two standard deviations of inputs that are not cut off."""
    _fields = {
        "known": ("known", None),
        "beyond": ("beyond", None),
        "none": ("none", None),
        "unknown": ("unknown", None),
        "quantiles": ("quantiles", lambda v: [(HeatQuantile._read)(x) for x in v]),
        "mean_K": ("mean_K", None),
        "two_deviations_K": ("two_deviations_K", None),
        "first_order_half_width_K": ("first_order_half_width_K", None),
    }


class HeatSpread(Record):
    """Trip, reset and delta of many parts drawn within the tolerances."""

    __slots__ = ('drawn', 'varied', 'trip', 'reset', 'delta', 'sideways_first', 'sideways_unknown', 'trips_K', 'resets_K', 'words',)
    drawn: float
    """Parts drawn."""
    varied: list[str]
    """Numbers that were varied: keys of the case file."""
    trip: HeatSpreadOfOne
    """Trip temperature."""
    reset: HeatSpreadOfOne
    """Reset temperature."""
    delta: HeatSpreadOfOne
    """Trip less reset temperature; known where both are."""
    sideways_first: float
    """Share of the drawn parts that lose their round shape to waves before the trip's limit, and so trip a little earlier."""
    sideways_unknown: float
    """Share for which that could not be counted."""
    trips_K: np.ndarray
    """Trip temperatures, K, one per draw; None where there is none or it is unknown."""
    resets_K: np.ndarray
    """Reset temperatures, K, one per draw."""
    words: list[str]
    """The same in sentences."""
    _fields = {
        "drawn": ("drawn", None),
        "varied": ("varied", None),
        "trip": ("trip", HeatSpreadOfOne._read),
        "reset": ("reset", HeatSpreadOfOne._read),
        "delta": ("delta", HeatSpreadOfOne._read),
        "sideways_first": ("sideways_first", None),
        "sideways_unknown": ("sideways_unknown", None),
        "trips_K": ("trips_K", array),
        "resets_K": ("resets_K", array),
        "words": ("words", None),
    }


MapState = Literal["trips", "beyond", "none", "no-part", "unknown"]
"""What a part of a map does."""


class MapCurve(Record):
    """A curve: columns of its points."""

    __slots__ = ('depth_si', 'thickness_m',)
    depth_si: np.ndarray
    """Depths."""
    thickness_m: np.ndarray
    """Thicknesses, m."""
    _fields = {
        "depth_si": ("depth_si", array),
        "thickness_m": ("thickness_m", array),
    }


class LevelCurves(Record):
    """Curves of one level."""

    __slots__ = ('level_K', 'curves',)
    level_K: float
    """Trip temperature or delta, K."""
    curves: list[MapCurve]
    """Its curves; a closed one ends where it begins."""
    _fields = {
        "level_K": ("level_K", None),
        "curves": ("curves", lambda v: [(MapCurve._read)(x) for x in v]),
    }


class HeatMap(Record):
    """Trip, reset and delta over depth and thickness. Temperatures are the limits of the round shape on the standard mesh. Grids go row by row from the smallest thickness, depth fastest."""

    __slots__ = ('depth_here_si', 'thickness_here_m', 'depth_is_angle', 'depths_si', 'thicknesses_m', 'states', 'tripping', 'no_reset', 'beyond', 'none', 'no_part', 'unknown', 'trips_K', 'resets_K', 'deltas_K', 'equal_trip', 'equal_delta', 'lost_crossings', 'followed_anew', 'waves_first', 'waves_unknown', 'checked', 'contradicted', 'check_difference_K', 'doubts', 'words',)
    depth_here_si: float
    """Depth of the part: half-angle (rad) of a cap, factor on the heights otherwise."""
    thickness_here_m: float
    """Thickness of its wall, m."""
    depth_is_angle: bool
    """Whether depth is a half-angle."""
    depths_si: np.ndarray
    """Depths of the columns."""
    thicknesses_m: np.ndarray
    """Thicknesses of the rows, m; all layers by one factor."""
    states: list[MapState]
    """What each part of the grid does."""
    tripping: float
    """How many trip."""
    no_reset: float
    """Of those, how many have no reset within the temperatures looked at, or none was found."""
    beyond: float
    """How many trip beyond the temperatures looked at."""
    none: float
    """How many were followed over all temperatures looked at without a trip."""
    no_part: float
    """Places without such a part."""
    unknown: float
    """Places where nothing was found."""
    trips_K: np.ndarray
    """Trip temperatures, K."""
    resets_K: np.ndarray
    """Reset temperatures, K; None also beyond the temperatures looked at."""
    deltas_K: np.ndarray
    """Trip less reset, K."""
    equal_trip: list[LevelCurves]
    """Curves of equal trip temperature, round in °C."""
    equal_delta: list[LevelCurves]
    """Curves of equal delta."""
    lost_crossings: float
    """Points of curves that were not found."""
    followed_anew: float
    """Parts that the walk did not reach and that were followed anew."""
    waves_first: float
    """Parts that lose their round shape to waves before the trip's limit."""
    waves_unknown: float
    """Parts for which that could not be counted."""
    checked: float
    """Places that trip, followed anew to compare."""
    contradicted: float
    """Of those, how many do not trip then."""
    check_difference_K: float | None
    """Largest difference of the trip's limit there, on finer meshes, K."""
    doubts: list[str]
    """Reasons to doubt the map."""
    words: list[str]
    """The same in sentences."""
    _fields = {
        "depth_here_si": ("depth_here_si", None),
        "thickness_here_m": ("thickness_here_m", None),
        "depth_is_angle": ("depth_is_angle", None),
        "depths_si": ("depths_si", array),
        "thicknesses_m": ("thicknesses_m", array),
        "states": ("states", None),
        "tripping": ("tripping", None),
        "no_reset": ("no_reset", None),
        "beyond": ("beyond", None),
        "none": ("none", None),
        "no_part": ("no_part", None),
        "unknown": ("unknown", None),
        "trips_K": ("trips_K", array),
        "resets_K": ("resets_K", array),
        "deltas_K": ("deltas_K", array),
        "equal_trip": ("equal_trip", lambda v: [(LevelCurves._read)(x) for x in v]),
        "equal_delta": ("equal_delta", lambda v: [(LevelCurves._read)(x) for x in v]),
        "lost_crossings": ("lost_crossings", None),
        "followed_anew": ("followed_anew", None),
        "waves_first": ("waves_first", None),
        "waves_unknown": ("waves_unknown", None),
        "checked": ("checked", None),
        "contradicted": ("contradicted", None),
        "check_difference_K": ("check_difference_K", None),
        "doubts": ("doubts", None),
        "words": ("words", None),
    }


class HeatWhole(Record):
    """The answer with what was asked for beside it."""

    __slots__ = ('schema_version', 'title', 'outcome', 'explanation', 'doubts', 'warnings', 'beyond', 'part', 'wall', 'device', 'trip', 'reset', 'buckling', 'delta_K', 'stays_tripped', 'creep', 'moves', 'depth_rule', 'tolerance', 'cycle', 'shapes', 'near', 'far', 'evidence', 'spread', 'map',)
    schema_version: float
    """Version of the JSON layout."""
    title: str
    """Title of the case."""
    outcome: HeatOutcome
    """Whether it trips."""
    explanation: list[str]
    """Why, in sentences."""
    doubts: list[str]
    """Reasons to doubt the outcome (empty when there are none)."""
    warnings: list[str]
    """Warnings and cautions."""
    beyond: list[str]
    """What the model cannot say about this part."""
    part: PartSummary
    """The part as computed."""
    wall: WallSummary
    """Its wall."""
    device: DeviceSummary
    """What stands around it."""
    trip: HeatJump | None
    """The jump of the branch that starts at the described shape."""
    reset: HeatJump | None
    """The jump back."""
    buckling: list[Buckling]
    """Where the branch of the described shape loses its round or flat form without a limit, on the ways that do not trip."""
    delta_K: float | None
    """Trip less reset temperature, K."""
    stays_tripped: bool | None
    """Whether the part, once tripped, is still tripped at the temperature at which its shape is given."""
    creep: Creep | None
    """Slow movement before the trip."""
    moves: list[Move]
    """What moves trip and reset by how much."""
    depth_rule: str
    """How depth is changed, for people."""
    tolerance: Tolerance | None
    """Half-widths that all tolerances cause together, to first order (root of the sum of squares), K."""
    cycle: HeatCycle | None
    """Energy over a full cycle of heating and cooling."""
    shapes: list[HeatShape]
    """Shapes worth seeing."""
    near: list[HeatRow]
    """The branch of the described shape, in order."""
    far: list[HeatRow]
    """The branch on which it lands, in order."""
    evidence: HeatEvidence
    """Evidence."""
    spread: HeatSpread | None
    map: HeatMap | None
    _fields = {
        "schema_version": ("schema_version", None),
        "title": ("title", None),
        "outcome": ("outcome", None),
        "explanation": ("explanation", None),
        "doubts": ("doubts", None),
        "warnings": ("warnings", None),
        "beyond": ("beyond", None),
        "part": ("part", PartSummary._read),
        "wall": ("wall", WallSummary._read),
        "device": ("device", DeviceSummary._read),
        "trip": ("trip", HeatJump._read),
        "reset": ("reset", HeatJump._read),
        "buckling": ("buckling", lambda v: [(Buckling._read)(x) for x in v]),
        "delta_K": ("delta_K", None),
        "stays_tripped": ("stays_tripped", None),
        "creep": ("creep", Creep._read),
        "moves": ("moves", lambda v: [(Move._read)(x) for x in v]),
        "depth_rule": ("depth_rule", None),
        "tolerance": ("tolerance", Tolerance._read),
        "cycle": ("cycle", HeatCycle._read),
        "shapes": ("shapes", lambda v: [(HeatShape._read)(x) for x in v]),
        "near": ("near", lambda v: [(HeatRow._read)(x) for x in v]),
        "far": ("far", lambda v: [(HeatRow._read)(x) for x in v]),
        "evidence": ("evidence", HeatEvidence._read),
        "spread": ("spread", HeatSpread._read),
        "map": ("map", HeatMap._read),
    }


ModesOutcome = Literal["answered", "undecided"]
"""Whether the evidence carries the answer."""


class ModesUnits(Record):
    """Units of the pure numbers."""

    __slots__ = ('length_m', 'frequency_Hz', 'plate_factor',)
    length_m: float
    """The length unit R: radius of the sphere for part of one, the largest radius of the meridian otherwise."""
    frequency_Hz: float | None
    """√(E/ρ)/(2πR): the frequency of a mode with ω² = 1; None without a density."""
    plate_factor: float | None
    """Factor from ω² to Ω², `Ω = ω a² √(ρh/D)` with a the largest radius of the meridian; None unless the wall is uniform."""
    _fields = {
        "length_m": ("length_m", None),
        "frequency_Hz": ("frequency_Hz", None),
        "plate_factor": ("plate_factor", None),
    }


ModeKind = Literal["bending", "stretching", "torsion"]
"""What moves."""


class ModeShape(Record):
    """A motion along the meridian, the largest displacement 1: across and along go as cos nθ, around as sin nθ."""

    __slots__ = ('across', 'along', 'around',)
    across: np.ndarray
    """Across the wall, positive to the left of the meridian (the concave side of a bowl)."""
    along: np.ndarray
    """Along the meridian, positive towards the rim."""
    around: np.ndarray
    """Around the axis."""
    _fields = {
        "across": ("across", array),
        "along": ("along", array),
        "around": ("around", array),
    }


class Mode(Record):
    """One mode (for n ≥ 1 a pair, turned by a quarter wave)."""

    __slots__ = ('n', 'order', 'nodal_circles', 'circles_at_m', 'kind', 'omega_squared', 'plate_parameter', 'frequency_Hz', 'bending_share', 'normal_share', 'around_share', 'residual', 'mesh_difference', 'shape',)
    n: float
    """Waves around the axis."""
    order: float
    """Place among the modes of this n, from 1."""
    nodal_circles: float
    """Circles inside the wall, ends left out, on which the largest field (across the wall, along the meridian or around) changes sign."""
    circles_at_m: np.ndarray
    """Arclengths of these circles."""
    kind: ModeKind
    """Bending, stretching or torsion."""
    omega_squared: float
    """ω² over E/(ρR²); negative: the state is unstable."""
    plate_parameter: float | None
    """Ω = ω a² √(ρh/D); None for a wall that varies, or an unstable mode."""
    frequency_Hz: float | None
    """Frequency; None without a density, or for an unstable mode."""
    bending_share: float
    """Share of bending in the elastic energy of the motion (second variation, supports left out)."""
    normal_share: float
    """Share of the kinetic energy across the wall."""
    around_share: float
    """Share of the kinetic energy around the axis."""
    residual: float
    """Residual of the eigenpair, relative."""
    mesh_difference: float | None
    """Relative difference of ω² between the meshes; None when the coarser has no such mode."""
    shape: ModeShape | None
    """The motion; None but for the lowest of all n."""
    _fields = {
        "n": ("n", None),
        "order": ("order", None),
        "nodal_circles": ("nodal_circles", None),
        "circles_at_m": ("circles_at_m", array),
        "kind": ("kind", None),
        "omega_squared": ("omega_squared", None),
        "plate_parameter": ("plate_parameter", None),
        "frequency_Hz": ("frequency_Hz", None),
        "bending_share": ("bending_share", None),
        "normal_share": ("normal_share", None),
        "around_share": ("around_share", None),
        "residual": ("residual", None),
        "mesh_difference": ("mesh_difference", None),
        "shape": ("shape", ModeShape._read),
    }


class Rigid(Record):
    """Rigid motions of one n."""

    __slots__ = ('n', 'count', 'residual',)
    n: float
    """Waves around the axis: 0 along and around the axis, 1 sideways and tilting."""
    count: float
    """How many."""
    residual: float
    """Largest force that they cause over the largest entry of the stiffness: rounding."""
    _fields = {
        "n": ("n", None),
        "count": ("count", None),
        "residual": ("residual", None),
    }


class ModesSearch(Record):
    """How far the search went."""

    __slots__ = ('largest_n', 'counted_to_n', 'complete', 'reason',)
    largest_n: float
    """Largest n whose modes were computed."""
    counted_to_n: float
    """Largest n whose modes below the last of `lowest` were counted (none beyond `largest_n`)."""
    complete: bool
    """Whether nothing is missing among the lowest."""
    reason: str
    """Why."""
    _fields = {
        "largest_n": ("largest_n", None),
        "counted_to_n": ("counted_to_n", None),
        "complete": ("complete", None),
        "reason": ("reason", None),
    }


class ModesMeridian(Record):
    """Where the columns of shapes are taken."""

    __slots__ = ('s_m', 'r_m', 'z_m', 'slope_rad',)
    s_m: np.ndarray
    """Arclength from the pole or the inner end."""
    r_m: np.ndarray
    """Radius."""
    z_m: np.ndarray
    """Height."""
    slope_rad: np.ndarray
    """Slope."""
    _fields = {
        "s_m": ("s_m", array),
        "r_m": ("r_m", array),
        "z_m": ("z_m", array),
        "slope_rad": ("slope_rad", array),
    }


class Loss(Record):
    """The pressure at which the form of n waves is no longer positive."""

    __slots__ = ('n', 'pressure_Pa', 'ratio', 'bracket', 'mesh_difference', 'shape',)
    n: float
    """Waves around the axis."""
    pressure_Pa: float
    """The pressure."""
    ratio: float
    """Over the classical pressure."""
    bracket: float
    """Relative width of the bracket; counts differ at its ends."""
    mesh_difference: float | None
    """Relative difference between the meshes; None when the coarser does not lose this form."""
    shape: ModeShape | None
    """The motion that costs nothing there; None but for the lowest pressure, or when it could not be computed."""
    _fields = {
        "n": ("n", None),
        "pressure_Pa": ("pressure_Pa", None),
        "ratio": ("ratio", None),
        "bracket": ("bracket", None),
        "mesh_difference": ("mesh_difference", None),
        "shape": ("shape", ModeShape._read),
    }


class Pressure(Record):
    """Pressures at which the forms of n waves are lost."""

    __slots__ = ('face', 'classical_Pa', 'losses', 'first', 'axisymmetric_limit_Pa', 'limit_mesh_difference', 'followed_to_Pa', 'ended', 'method', 'largest_n', 'points',)
    face: str
    """Which face is pressed: `outside` (the convex face of a bowl) or `inside`."""
    classical_Pa: float
    """2E(h/R)²/√(3(1−ν²)) with the thickness at the rim and the length unit as R: of a complete sphere, classically."""
    losses: list[Loss]
    """First loss of every n met, by n."""
    first: float | None
    """Place in `losses` of the lowest pressure."""
    axisymmetric_limit_Pa: float | None
    """Largest pressure of the axisymmetric path; None when it has no limit up to where it was followed."""
    limit_mesh_difference: float | None
    """Relative difference of that limit between the meshes."""
    followed_to_Pa: float
    """Up to where forms were examined."""
    ended: str
    """Why not further."""
    method: str
    """How it was found."""
    largest_n: float
    """Largest n examined."""
    points: float
    """Equilibria on the way, finer mesh."""
    _fields = {
        "face": ("face", None),
        "classical_Pa": ("classical_Pa", None),
        "losses": ("losses", lambda v: [(Loss._read)(x) for x in v]),
        "first": ("first", None),
        "axisymmetric_limit_Pa": ("axisymmetric_limit_Pa", None),
        "limit_mesh_difference": ("limit_mesh_difference", None),
        "followed_to_Pa": ("followed_to_Pa", None),
        "ended": ("ended", None),
        "method": ("method", None),
        "largest_n": ("largest_n", None),
        "points": ("points", None),
    }


class ModesEvidence(Record):
    """Numerical evidence."""

    __slots__ = ('elements_coarse', 'elements_fine', 'mesh_difference', 'residual', 'certified', 'limits', 'work',)
    elements_coarse: float
    """Elements of the coarser mesh."""
    elements_fine: float
    """Elements of the finer mesh."""
    mesh_difference: float | None
    """Largest relative difference of ω² among the lowest modes."""
    residual: float
    """Largest residual of an eigenpair, relative."""
    certified: bool
    """Whether counts confirm that no mode of any n computed is missing."""
    limits: list[Limit]
    """Validity limits."""
    work: Work
    """Work done."""
    _fields = {
        "elements_coarse": ("elements_coarse", None),
        "elements_fine": ("elements_fine", None),
        "mesh_difference": ("mesh_difference", None),
        "residual": ("residual", None),
        "certified": ("certified", None),
        "limits": ("limits", lambda v: [(Limit._read)(x) for x in v]),
        "work": ("work", Work._read),
    }


class ModesReport(Record):
    """The whole answer."""

    __slots__ = ('schema_version', 'title', 'outcome', 'state', 'explanation', 'doubts', 'warnings', 'beyond', 'part', 'units', 'modes', 'lowest', 'rigid', 'search', 'meridian', 'pressure', 'evidence',)
    schema_version: float
    """Version of the layout."""
    title: str
    """Title of the case."""
    outcome: ModesOutcome
    """Whether the evidence carries it."""
    state: str
    """The state about which it vibrates: `natural` or `inverted`."""
    explanation: list[str]
    """What was found, in sentences."""
    doubts: list[str]
    """Reasons to doubt (empty when there are none)."""
    warnings: list[str]
    """Warnings that do not change the answer."""
    beyond: list[str]
    """What the model leaves out."""
    part: PartSummary
    """The part as computed."""
    units: ModesUnits
    """Units of the pure numbers."""
    modes: list[Mode]
    """Every mode computed, by n, then by frequency."""
    lowest: np.ndarray
    """Places in `modes` of the lowest frequencies of all n, rising: none below the last of them is missing."""
    rigid: list[Rigid]
    """Motions that cost nothing."""
    search: ModesSearch
    """How far n went, and why no further."""
    meridian: ModesMeridian
    """Meridian of the state."""
    pressure: Pressure | None
    """Pressures at which the forms are lost; None when not asked for."""
    evidence: ModesEvidence
    """Numerical evidence."""
    _fields = {
        "schema_version": ("schema_version", None),
        "title": ("title", None),
        "outcome": ("outcome", None),
        "state": ("state", None),
        "explanation": ("explanation", None),
        "doubts": ("doubts", None),
        "warnings": ("warnings", None),
        "beyond": ("beyond", None),
        "part": ("part", PartSummary._read),
        "units": ("units", ModesUnits._read),
        "modes": ("modes", lambda v: [(Mode._read)(x) for x in v]),
        "lowest": ("lowest", array),
        "rigid": ("rigid", lambda v: [(Rigid._read)(x) for x in v]),
        "search": ("search", ModesSearch._read),
        "meridian": ("meridian", ModesMeridian._read),
        "pressure": ("pressure", Pressure._read),
        "evidence": ("evidence", ModesEvidence._read),
    }


BatchOutcome = Literal["answered", "undecided"]
"""Whether there is an answer."""


class BatchInput(Record):
    """A number that varies."""

    __slots__ = ('input', 'value_SI', 'half_width_SI', 'distribution', 'mean_SI', 'deviation_SI', 'matters',)
    input: str
    """Key in the case file."""
    value_SI: float
    """Its value."""
    half_width_SI: float
    """Half-width of its tolerance; 0 where measured values say how it varies."""
    distribution: str
    """Its distribution."""
    mean_SI: float
    """Mean of the drawn values."""
    deviation_SI: float
    """Their standard deviation."""
    matters: bool
    """Whether it changes anything that was read."""
    _fields = {
        "input": ("input", None),
        "value_SI": ("value_SI", None),
        "half_width_SI": ("half_width_SI", None),
        "distribution": ("distribution", None),
        "mean_SI": ("mean_SI", None),
        "deviation_SI": ("deviation_SI", None),
        "matters": ("matters", None),
    }


class BatchPair(Record):
    """Two numbers that vary together."""

    __slots__ = ('inputs', 'correlation',)
    inputs: tuple[str, str]
    """Keys in the case file."""
    correlation: float
    """Correlation of the normal deviates behind them."""
    _fields = {
        "inputs": ("inputs", tuple),
        "correlation": ("correlation", None),
    }


class BatchShare(Record):
    """A share of the drawn parts."""

    __slots__ = ('share', 'low', 'high', 'surface_error',)
    share: float
    """Share of the drawn parts."""
    low: float
    """Lower end of the 95 % interval of so many draws."""
    high: float
    """Its upper end."""
    surface_error: float
    """Share of the drawn parts that lie too near to an edge for the approximation and were not computed exactly: the share may be wrong by as much."""
    _fields = {
        "share": ("share", None),
        "low": ("low", None),
        "high": ("high", None),
        "surface_error": ("surface_error", None),
    }


class BatchVerdicts(Record):
    """Shares by what the part does when it is turned inside out."""

    __slots__ = ('stays', 'waits', 'returns',)
    stays: BatchShare
    """Stay inverted."""
    waits: BatchShare | None
    """Rest a while after the hold of the case, then return; None where that is not known of the case (no memory, or another hold than in the mirror image): such parts then count as returning."""
    returns: BatchShare
    """Return."""
    _fields = {
        "stays": ("stays", BatchShare._read),
        "waits": ("waits", BatchShare._read),
        "returns": ("returns", BatchShare._read),
    }


class BatchWindow(Record):
    """A window and the parts in it."""

    __slots__ = ('gauge', 'unit', 'from_SI', 'to_SI', 'inside', 'below', 'above', 'nowhere',)
    gauge: str
    """What is read."""
    unit: str
    """SI unit, empty for numbers."""
    from_SI: float | None
    """Lower end; None when it is open."""
    to_SI: float | None
    """Upper end; None when it is open."""
    inside: BatchShare
    """Parts inside."""
    below: float
    """Share below."""
    above: float
    """Share above."""
    nowhere: float
    """Share that does not do that at all."""
    _fields = {
        "gauge": ("gauge", None),
        "unit": ("unit", None),
        "from_SI": ("from_SI", None),
        "to_SI": ("to_SI", None),
        "inside": ("inside", BatchShare._read),
        "below": ("below", None),
        "above": ("above", None),
        "nowhere": ("nowhere", None),
    }


class BatchQuantile(Record):
    """A quantile."""

    __slots__ = ('share', 'at_SI',)
    share: float
    """Share of the parts below."""
    at_SI: float
    """Where."""
    _fields = {
        "share": ("share", None),
        "at_SI": ("at_SI", None),
    }


class BatchIndex(Record):
    """Sobol indices of one number, or of two that vary together."""

    __slots__ = ('inputs', 'first', 'first_error', 'total', 'total_error',)
    inputs: list[str]
    """Keys in the case file."""
    first: float
    """Share of the variance that would go if it were known."""
    first_error: float
    """Standard error of that."""
    total: float
    """Share that would be left if all others were known."""
    total_error: float
    """Standard error of that."""
    _fields = {
        "inputs": ("inputs", None),
        "first": ("first", None),
        "first_error": ("first_error", None),
        "total": ("total", None),
        "total_error": ("total_error", None),
    }


class BatchKind(Record):
    """Counts of one kind of part."""

    __slots__ = ('kind', 'counts',)
    kind: str
    """`stays`, `waits`, `returns`, or `good` and `bad` where no verdict is asked."""
    counts: np.ndarray
    """Parts in each bin."""
    _fields = {
        "kind": ("kind", None),
        "counts": ("counts", array),
    }


class BatchHistogram(Record):
    """Counts of parts over a gauge, by what they do."""

    __slots__ = ('ends_SI', 'kinds',)
    ends_SI: np.ndarray
    """Ends of the bins."""
    kinds: list[BatchKind]
    """Counts of each kind of part."""
    _fields = {
        "ends_SI": ("ends_SI", array),
        "kinds": ("kinds", lambda v: [(BatchKind._read)(x) for x in v]),
    }


class BatchGauge(Record):
    """What was read of every part."""

    __slots__ = ('gauge', 'unit', 'as_described_SI', 'mean_SI', 'deviation_SI', 'quantiles', 'edges_SI', 'surface_error_SI', 'indices', 'histogram',)
    gauge: str
    """Its name."""
    unit: str
    """SI unit, empty for numbers."""
    as_described_SI: float | None
    """Of the part as described; None where it does not do that."""
    mean_SI: float | None
    """Mean over the parts that do."""
    deviation_SI: float | None
    """Standard deviation over them."""
    quantiles: list[BatchQuantile]
    """Quantiles over them."""
    edges_SI: np.ndarray
    """Places of its edges: windows, and 0 for a margin."""
    surface_error_SI: float | None
    """Bound of the approximation's error; None where every part was computed exactly."""
    indices: list[BatchIndex]
    """Shares of its variance by number, largest total first; empty without an approximation."""
    histogram: BatchHistogram
    """How many parts lie where."""
    _fields = {
        "gauge": ("gauge", None),
        "unit": ("unit", None),
        "as_described_SI": ("as_described_SI", None),
        "mean_SI": ("mean_SI", None),
        "deviation_SI": ("deviation_SI", None),
        "quantiles": ("quantiles", lambda v: [(BatchQuantile._read)(x) for x in v]),
        "edges_SI": ("edges_SI", array),
        "surface_error_SI": ("surface_error_SI", None),
        "indices": ("indices", lambda v: [(BatchIndex._read)(x) for x in v]),
        "histogram": ("histogram", BatchHistogram._read),
    }


class BatchTightening(Record):
    """What one tolerance made half as wide would save."""

    __slots__ = ('input', 'saved', 'saved_error', 'of_failing',)
    input: str
    """Key in the case file."""
    saved: float
    """Share of all parts that would be good and are not, less those that would no longer be."""
    saved_error: float
    """Standard error of that."""
    of_failing: float | None
    """The same over the share of parts that are not good; None when all are."""
    _fields = {
        "input": ("input", None),
        "saved": ("saved", None),
        "saved_error": ("saved_error", None),
        "of_failing": ("of_failing", None),
    }


class BatchFactor(Record):
    """A factor on the tolerance of one number."""

    __slots__ = ('input', 'factor', 'half_width_SI',)
    input: str
    """Key in the case file."""
    factor: float | None
    """Largest factor that reaches the wanted share; None when none does."""
    half_width_SI: float | None
    """Half-width of the tolerance then."""
    _fields = {
        "input": ("input", None),
        "factor": ("factor", None),
        "half_width_SI": ("half_width_SI", None),
    }


class BatchWant(Record):
    """Tolerances for a wanted share of good parts."""

    __slots__ = ('wanted', 'met', 'all', 'alone', 'parts',)
    wanted: float
    """Share wanted."""
    met: bool
    """Whether the tolerances as given do."""
    all: float | None
    """Factor on all tolerances alike that reaches it; None when none does (the middle itself is not good enough)."""
    alone: list[BatchFactor]
    """Factor on one tolerance alone."""
    parts: float
    """Drawn parts on which that was found."""
    _fields = {
        "wanted": ("wanted", None),
        "met": ("met", None),
        "all": ("all", None),
        "alone": ("alone", lambda v: [(BatchFactor._read)(x) for x in v]),
        "parts": ("parts", None),
    }


class BatchWaves(Record):
    """Waves round the axis at the parts that were computed exactly."""

    __slots__ = ('parts', 'corners', 'first', 'n',)
    parts: float
    """Parts computed exactly; in each the waves were counted."""
    corners: float
    """Corners of the box of tolerances among them."""
    first: float
    """Parts that are lost in waves first."""
    n: np.ndarray
    """Wave numbers in which."""
    _fields = {
        "parts": ("parts", None),
        "corners": ("corners", None),
        "first": ("first", None),
        "n": ("n", array),
    }


class BatchMethod(Record):
    """How the parts were judged."""

    __slots__ = ('surface', 'why_not', 'degree', 'terms', 'fitted', 'held_out', 'near', 'anew', 'anew_difference',)
    surface: bool
    """Whether a polynomial approximation judged most of them."""
    why_not: str
    """Why not; empty when it did."""
    degree: float
    """Its total degree, the largest of any gauge."""
    terms: float
    """Its terms, the most of any gauge."""
    fitted: float
    """Exact readings that it was fitted to."""
    held_out: float
    """Exact readings that it was held against."""
    near: float
    """Drawn parts near an edge that were computed exactly."""
    anew: float
    """Readings followed from the part as described that were computed anew to compare."""
    anew_difference: float
    """Largest difference of those, over the standard deviation of the gauge."""
    _fields = {
        "surface": ("surface", None),
        "why_not": ("why_not", None),
        "degree": ("degree", None),
        "terms": ("terms", None),
        "fitted": ("fitted", None),
        "held_out": ("held_out", None),
        "near": ("near", None),
        "anew": ("anew", None),
        "anew_difference": ("anew_difference", None),
    }


class BatchReport(Record):
    """The whole answer."""

    __slots__ = ('schema_version', 'title', 'outcome', 'explanation', 'doubts', 'warnings', 'asked', 'drawn', 'seed', 'inputs', 'together', 'verdicts', 'unknown', 'good', 'good_means', 'windows', 'gauges', 'tightening', 'want', 'waves', 'method', 'work',)
    schema_version: float
    """Version of the JSON layout."""
    title: str
    """Title of the case."""
    outcome: BatchOutcome
    """Whether the evidence carries the answer."""
    explanation: list[str]
    """The answer in sentences."""
    doubts: list[str]
    """Reasons to doubt it (empty when there are none)."""
    warnings: list[str]
    """Warnings and cautions."""
    asked: float
    """Parts asked for."""
    drawn: float
    """Parts drawn: fewer where each had to be computed exactly."""
    seed: float
    """Seed of the draws."""
    inputs: list[BatchInput]
    """Numbers that vary."""
    together: list[BatchPair]
    """Numbers that vary together."""
    verdicts: BatchVerdicts | None
    """Shares by what the part does when it is turned inside out; None where that is not asked."""
    unknown: BatchShare
    """Parts that could not be judged."""
    good: BatchShare
    """Good parts."""
    good_means: str
    """What makes a part good, for people."""
    windows: list[BatchWindow]
    """Windows asked for."""
    gauges: list[BatchGauge]
    """What was read of every part."""
    tightening: list[BatchTightening]
    """What one tolerance made half as wide would save, largest first; empty where no approximation was good enough."""
    want: BatchWant | None
    """Tolerances for the share of good parts that is wanted."""
    waves: BatchWaves
    """Waves round the axis."""
    method: BatchMethod
    """How the parts were judged."""
    work: Work
    """Work counters of all exact readings."""
    _fields = {
        "schema_version": ("schema_version", None),
        "title": ("title", None),
        "outcome": ("outcome", None),
        "explanation": ("explanation", None),
        "doubts": ("doubts", None),
        "warnings": ("warnings", None),
        "asked": ("asked", None),
        "drawn": ("drawn", None),
        "seed": ("seed", None),
        "inputs": ("inputs", lambda v: [(BatchInput._read)(x) for x in v]),
        "together": ("together", lambda v: [(BatchPair._read)(x) for x in v]),
        "verdicts": ("verdicts", BatchVerdicts._read),
        "unknown": ("unknown", BatchShare._read),
        "good": ("good", BatchShare._read),
        "good_means": ("good_means", None),
        "windows": ("windows", lambda v: [(BatchWindow._read)(x) for x in v]),
        "gauges": ("gauges", lambda v: [(BatchGauge._read)(x) for x in v]),
        "tightening": ("tightening", lambda v: [(BatchTightening._read)(x) for x in v]),
        "want": ("want", BatchWant._read),
        "waves": ("waves", BatchWaves._read),
        "method": ("method", BatchMethod._read),
        "work": ("work", Work._read),
    }


SizeOutcome = Literal["met", "unmet", "undecided"]
"""What came out."""


class SizeScale(Record):
    """How an SI value is shown: SI = zero + size · shown."""

    __slots__ = ('unit', 'size_si', 'zero_si',)
    unit: str
    """Unit; empty for a pure number."""
    size_si: float
    """One of it, SI."""
    zero_si: float
    """Its zero, SI (273.15 K for degrees Celsius, 0 else)."""
    _fields = {
        "unit": ("unit", None),
        "size_si": ("size_si", None),
        "zero_si": ("zero_si", None),
    }


class SizeVaried(Record):
    """A number that may change."""

    __slots__ = ('key', 'scale', 'from_si', 'to_si', 'here_si',)
    key: str
    """Its key in the case file."""
    scale: SizeScale
    """How it is shown."""
    from_si: float
    """Lower limit."""
    to_si: float
    """Upper limit."""
    here_si: float
    """In the case as it is."""
    _fields = {
        "key": ("key", None),
        "scale": ("scale", SizeScale._read),
        "from_si": ("from_si", None),
        "to_si": ("to_si", None),
        "here_si": ("here_si", None),
    }


class SizeWish(Record):
    """A wish as understood."""

    __slots__ = ('text', 'about', 'wanted', 'aim_si', 'low_si', 'high_si', 'share', 'hold_s', 'scale',)
    text: str
    """As written."""
    about: str
    """What it is about: a gauge, or a key of the case."""
    wanted: str
    """`equal`, `at least`, `at most`, `smallest`, `largest`."""
    aim_si: float | None
    """Value aimed at, for `equal`."""
    low_si: float | None
    """Least reading that will do."""
    high_si: float | None
    """Largest reading that will do."""
    share: float | None
    """Share of a batch for which it has to hold; its readings are then of the part at that end of the batch."""
    hold_s: float | None
    """How long the part is held first, s, where the wish says so."""
    scale: SizeScale
    """How its readings are shown."""
    _fields = {
        "text": ("text", None),
        "about": ("about", None),
        "wanted": ("wanted", None),
        "aim_si": ("aim_si", None),
        "low_si": ("low_si", None),
        "high_si": ("high_si", None),
        "share": ("share", None),
        "hold_s": ("hold_s", None),
        "scale": ("scale", SizeScale._read),
    }


class SizeDrawn(Record):
    """Parts drawn from the tolerances."""

    __slots__ = ('parts', 'meet', 'unread', 'share_low', 'share_high',)
    parts: float
    """How many."""
    meet: float
    """How many meet the wish."""
    unread: float
    """How many gave no reading (counted as not meeting it)."""
    share_low: float
    """Limits of the share, with 95 %."""
    share_high: float
    """Upper one."""
    _fields = {
        "parts": ("parts", None),
        "meet": ("meet", None),
        "unread": ("unread", None),
        "share_low": ("share_low", None),
        "share_high": ("share_high", None),
    }


class SizeReading(Record):
    """What a solution gives for one wish."""

    __slots__ = ('solver_si', 'forward_si', 'forward', 'slack_si', 'met', 'binds', 'price_si', 'slopes_si', 'drawn',)
    solver_si: float
    """As the solver reads it."""
    forward_si: float | None
    """As the forward question, asked anew about this part, says."""
    forward: str
    """Which question that is."""
    slack_si: float | None
    """Distance from the nearest end of what will do, positive inside; None for the smallest and largest."""
    met: bool
    """Whether the wish is met by both readings."""
    binds: bool
    """Whether this wish holds the solution where it is: it stands at its end."""
    price_si: float | None
    """Change of the wish for the smallest or largest with this wish's end, SI per SI; None where there is none or it does not bind."""
    slopes_si: np.ndarray
    """Slope over each number that may change, SI per SI."""
    drawn: SizeDrawn | None
    """Share of drawn parts that meet the wish, with the limits within which it lies with 95 %; for wishes about a share of a batch."""
    _fields = {
        "solver_si": ("solver_si", None),
        "forward_si": ("forward_si", None),
        "forward": ("forward", None),
        "slack_si": ("slack_si", None),
        "met": ("met", None),
        "binds": ("binds", None),
        "price_si": ("price_si", None),
        "slopes_si": ("slopes_si", array),
        "drawn": ("drawn", SizeDrawn._read),
    }


class SizeSolution(Record):
    """Sizes that give what is wished."""

    __slots__ = ('values_si', 'at_limit', 'readings', 'keeps_si', 'distance', 'confirmed', 'case_toml',)
    values_si: np.ndarray
    """The numbers that may change, in their order, rounded to six digits in their unit."""
    at_limit: np.ndarray
    """Which limit each of them stands at: −1 lower, 1 upper, 0 neither."""
    readings: list[SizeReading]
    """What it gives, wish by wish."""
    keeps_si: np.ndarray
    """Largest half-width of each number, the others exact, with which every wish is still met, to first order; None where none of them changes a wish."""
    distance: float
    """Distance from the part as it is, in shares of the ranges."""
    confirmed: bool
    """Whether the forward question confirms it."""
    case_toml: str | None
    """The case file with these numbers, where its text is known."""
    _fields = {
        "values_si": ("values_si", array),
        "at_limit": ("at_limit", array),
        "readings": ("readings", lambda v: [(SizeReading._read)(x) for x in v]),
        "keeps_si": ("keeps_si", array),
        "distance": ("distance", None),
        "confirmed": ("confirmed", None),
        "case_toml": ("case_toml", None),
    }


class SizeCurve(Record):
    """A curve of solutions."""

    __slots__ = ('points_si', 'met', 'ends', 'closed',)
    points_si: np.ndarray | list[np.ndarray]
    """Points along it, each with every number that may change."""
    met: np.ndarray
    """Whether the other wishes are met there."""
    ends: tuple[str, str]
    """How it ends on either side."""
    closed: bool
    """Whether it closes on itself."""
    _fields = {
        "points_si": ("points_si", matrix),
        "met": ("met", flags),
        "ends": ("ends", tuple),
        "closed": ("closed", None),
    }


class SizeSet(Record):
    """All that solves it."""

    __slots__ = ('freedom', 'extents_si', 'intervals_si', 'curves', 'share_of_samples',)
    freedom: float
    """How many numbers are free on it."""
    extents_si: np.ndarray | list[np.ndarray]
    """Least and largest value of each number on it, as far as it was followed."""
    intervals_si: np.ndarray | list[np.ndarray]
    """Stretches of a single number that solve it."""
    curves: list[SizeCurve]
    """Curves, where one number is free: rows of values."""
    share_of_samples: float | None
    """Share of the sampled places that solve it; for sets without an exact wish."""
    _fields = {
        "freedom": ("freedom", None),
        "extents_si": ("extents_si", matrix),
        "intervals_si": ("intervals_si", matrix),
        "curves": ("curves", lambda v: [(SizeCurve._read)(x) for x in v]),
        "share_of_samples": ("share_of_samples", None),
    }


class SizeFrontPoint(Record):
    """A point of a front."""

    __slots__ = ('values_si', 'readings_si', 'rate_si',)
    values_si: np.ndarray
    """The numbers that may change."""
    readings_si: tuple[float, float]
    """The two readings."""
    rate_si: float | None
    """What the second gains for one of the first, along the front, SI per SI."""
    _fields = {
        "values_si": ("values_si", array),
        "readings_si": ("readings_si", tuple),
        "rate_si": ("rate_si", None),
    }


class SizeFront(Record):
    """What one of two competing wishes costs the other."""

    __slots__ = ('wishes', 'points', 'knee',)
    wishes: tuple[float, float]
    """The two wishes, by place among all."""
    points: list[SizeFrontPoint]
    """From the best of the first to the best of the second."""
    knee: float | None
    """The point farthest from the straight line between the ends, by place among the points; None when they are too few."""
    _fields = {
        "wishes": ("wishes", tuple),
        "points": ("points", lambda v: [(SizeFrontPoint._read)(x) for x in v]),
        "knee": ("knee", None),
    }


class SizeRelaxation(Record):
    """How near one wish comes."""

    __slots__ = ('wish', 'best_si', 'short_si', 'values_si', 'at_limit', 'no_reading',)
    wish: float
    """Which, by place among all."""
    best_si: float | None
    """Best reading with the others kept; None where the others alone cannot be kept."""
    short_si: float | None
    """By how much it misses."""
    values_si: np.ndarray
    """The numbers there."""
    at_limit: np.ndarray
    """Which limits stop them: −1 lower, 1 upper, 0 neither."""
    no_reading: str | None
    """Why there is no reading anywhere, where that is so."""
    _fields = {
        "wish": ("wish", None),
        "best_si": ("best_si", None),
        "short_si": ("short_si", None),
        "values_si": ("values_si", array),
        "at_limit": ("at_limit", array),
        "no_reading": ("no_reading", None),
    }


class SizeMiss(Record):
    """A part that comes near."""

    __slots__ = ('values_si', 'readings_si', 'short_si', 'at_limit',)
    values_si: np.ndarray
    """The numbers."""
    readings_si: np.ndarray
    """What each wish reads."""
    short_si: np.ndarray
    """By how much each misses."""
    at_limit: np.ndarray
    """Which limits stop them."""
    _fields = {
        "values_si": ("values_si", array),
        "readings_si": ("readings_si", array),
        "short_si": ("short_si", array),
        "at_limit": ("at_limit", array),
    }


class SizeObstacle(Record):
    """What stands in the way."""

    __slots__ = ('rows', 'culprit', 'nearest',)
    rows: list[SizeRelaxation]
    """Wish by wish: how near it comes with the others kept."""
    culprit: float | None
    """Which of them stands in the way: the one whose end has to move least, in its own half-widths or hundredths; None when giving way to no single one is enough."""
    nearest: SizeMiss | None
    """The part that misses all wishes together by the least."""
    _fields = {
        "rows": ("rows", lambda v: [(SizeRelaxation._read)(x) for x in v]),
        "culprit": ("culprit", None),
        "nearest": ("nearest", SizeMiss._read),
    }


class SizeScan(Record):
    """What was read over the ranges."""

    __slots__ = ('axes_si', 'readings_si',)
    axes_si: np.ndarray | list[np.ndarray]
    """Values per number that may change: one list for a line, two for a map; empty for more."""
    readings_si: np.ndarray | list[np.ndarray]
    """Readings of every wish, the first number running fastest; None where there is none."""
    _fields = {
        "axes_si": ("axes_si", matrix),
        "readings_si": ("readings_si", matrix),
    }


class SizeEvidence(Record):
    """Evidence."""

    __slots__ = ('parts_read', 'without_reading', 'sample_step', 'starts', 'undecided_searches', 'largest_difference', 'completeness', 'work',)
    parts_read: float
    """Parts read."""
    without_reading: float
    """Of these, parts without some reading."""
    sample_step: float
    """Distance of neighbouring samples, in shares of the range of each number."""
    starts: float
    """Searches started."""
    undecided_searches: float
    """Searches that ended without deciding."""
    largest_difference: float | None
    """Largest difference between solver and forward question, in shares of what counts as a miss."""
    completeness: str
    """What "all solutions" means here, and how one could be missed."""
    work: Work
    """Work done by the solver; forward questions count their own."""
    _fields = {
        "parts_read": ("parts_read", None),
        "without_reading": ("without_reading", None),
        "sample_step": ("sample_step", None),
        "starts": ("starts", None),
        "undecided_searches": ("undecided_searches", None),
        "largest_difference": ("largest_difference", None),
        "completeness": ("completeness", None),
        "work": ("work", Work._read),
    }


class SizeReport(Record):
    """The whole answer."""

    __slots__ = ('schema_version', 'title', 'outcome', 'explanation', 'doubts', 'warnings', 'vary', 'wishes', 'readings_here_si', 'solutions', 'set', 'front', 'obstacle', 'scan', 'evidence',)
    schema_version: float
    """Version of the JSON layout."""
    title: str
    """Title of the case."""
    outcome: SizeOutcome
    """What came out."""
    explanation: list[str]
    """Why, in sentences."""
    doubts: list[str]
    """Reasons to doubt it (empty when there are none)."""
    warnings: list[str]
    """Warnings and cautions."""
    vary: list[SizeVaried]
    """What may change."""
    wishes: list[SizeWish]
    """What is wished."""
    readings_here_si: np.ndarray
    """The part as it is: what each wish reads; None where it reads nothing."""
    solutions: list[SizeSolution]
    """Solutions: by value of the wish for the smallest or largest where there is one, else the nearest to the part as it is first."""
    set: SizeSet | None
    """All that solves it, where that is more than single points."""
    front: SizeFront | None
    """What one of two competing wishes costs the other."""
    obstacle: SizeObstacle | None
    """What stands in the way where nothing solves it."""
    scan: SizeScan
    """What was read over the ranges."""
    evidence: SizeEvidence
    """Evidence."""
    _fields = {
        "schema_version": ("schema_version", None),
        "title": ("title", None),
        "outcome": ("outcome", None),
        "explanation": ("explanation", None),
        "doubts": ("doubts", None),
        "warnings": ("warnings", None),
        "vary": ("vary", lambda v: [(SizeVaried._read)(x) for x in v]),
        "wishes": ("wishes", lambda v: [(SizeWish._read)(x) for x in v]),
        "readings_here_si": ("readings_here_si", array),
        "solutions": ("solutions", lambda v: [(SizeSolution._read)(x) for x in v]),
        "set": ("set", SizeSet._read),
        "front": ("front", SizeFront._read),
        "obstacle": ("obstacle", SizeObstacle._read),
        "scan": ("scan", SizeScan._read),
        "evidence": ("evidence", SizeEvidence._read),
    }


class LookInput(Record):
    """A number that entered."""

    __slots__ = ('key', 'value_si', 'half_width_si', 'unit', 'shown',)
    key: str
    """Key in the case file."""
    value_si: float
    """SI value."""
    half_width_si: float | None
    """Half-width of its tolerance, SI."""
    unit: str
    """Unit as written; empty for a pure number."""
    shown: str
    """The number in its unit, with its tolerance."""
    _fields = {
        "key": ("key", None),
        "value_si": ("value_si", None),
        "half_width_si": ("half_width_si", None),
        "unit": ("unit", None),
        "shown": ("shown", None),
    }


class LookAsk(Record):
    """A question about the part."""

    __slots__ = ('question', 'ok', 'says',)
    question: str
    """Its name."""
    ok: bool
    """Whether it makes sense."""
    says: str
    """Why it does not; empty when it does."""
    _fields = {
        "question": ("question", None),
        "ok": ("ok", None),
        "says": ("says", None),
    }


class Look(Record):
    """A part as described."""

    __slots__ = ('title', 'part', 'lists_states', 'layers', 'strain_limit', 'notes', 'inputs', 'asks', 'loads', 'cautions',)
    title: str
    """Title of the case."""
    part: PartSummary
    """The part in numbers."""
    lists_states: bool
    """Whether it is made of lines and arcs, so that its verdict is a list of stable states."""
    layers: float
    """Layers of the wall; 0 for a wall of one piece."""
    strain_limit: float | None
    """Largest strain that the material bears."""
    notes: list[str]
    """What was decided on the way."""
    inputs: list[LookInput]
    """Every number that entered."""
    asks: list[LookAsk]
    """Every question, and whether it makes sense."""
    loads: str | None
    """The load of the case in words; None when it has none."""
    cautions: list[str]
    """What to mind, whatever is asked."""
    _fields = {
        "title": ("title", None),
        "part": ("part", PartSummary._read),
        "lists_states": ("lists_states", None),
        "layers": ("layers", None),
        "strain_limit": ("strain_limit", None),
        "notes": ("notes", None),
        "inputs": ("inputs", lambda v: [(LookInput._read)(x) for x in v]),
        "asks": ("asks", lambda v: [(LookAsk._read)(x) for x in v]),
        "loads": ("loads", None),
        "cautions": ("cautions", None),
    }


class Frame(Record):
    """One shape. The natural pole is at z = 0 and the natural rim above it. The rim of every shape lies where the natural one does, but over time, where heights are those of the report."""

    __slots__ = ('name', 'at', 'row', 'branch', 'r_m', 'z_m', 'slope_rad', 'strain', 'energy_J_per_m2', 'lip_m',)
    name: str
    """`natural`, `inverted`, `saddle`, or the name of a state; empty along a path, over time and over temperature."""
    at: float
    """Number of the shape, row of the path, time (s) or temperature (K)."""
    row: float | None
    """Index into the report's rows, where it has one for this shape."""
    branch: str | None
    """Over temperature: `near` or `far`."""
    r_m: np.ndarray
    """Radius."""
    z_m: np.ndarray
    """Height."""
    slope_rad: np.ndarray
    """Slope angle (tan of it is dz/dr), continuous along the meridian."""
    strain: np.ndarray
    """Largest magnitude of principal strain at either face, counted from the described shape."""
    energy_J_per_m2: np.ndarray
    """Elastic energy per natural area. Heat's own strains are taken off; memory of the material is left aside."""
    lip_m: float | None
    """Width of the lip, where it was computed."""
    _fields = {
        "name": ("name", None),
        "at": ("at", None),
        "row": ("row", None),
        "branch": ("branch", None),
        "r_m": ("r_m", array),
        "z_m": ("z_m", array),
        "slope_rad": ("slope_rad", array),
        "strain": ("strain", array),
        "energy_J_per_m2": ("energy_J_per_m2", array),
        "lip_m": ("lip_m", None),
    }


class Film(Record):
    """Shapes of one part on one grid. Numbers are rounded to six significant digits."""

    __slots__ = ('over', 's_m', 'thickness_m', 'frames',)
    over: Literal["shapes", "path", "time", "temperature"]
    """What `at` counts: `shapes`, `path`, `time` or `temperature`."""
    s_m: np.ndarray
    """Natural arclengths of the grid from the pole or the inner edge; both sides of a joint have a place of their own."""
    thickness_m: np.ndarray
    """Wall thickness at these places."""
    frames: list[Frame]
    """The shapes, in order; at most 240. Empty when the answer has no state to show."""
    _fields = {
        "over": ("over", None),
        "s_m": ("s_m", array),
        "thickness_m": ("thickness_m", array),
        "frames": ("frames", lambda v: [(Frame._read)(x) for x in v]),
    }


REPORTS: dict[str, type[Any]] = {
    "verdict": VerdictReport,
    "states": StatesReport,
    "poke": PokeReport,
    "release": ReleaseWhole,
    "map": MapReport,
    "heat": HeatWhole,
    "modes": ModesReport,
    "spread": BatchReport,
    "size": SizeReport,
    "look": Look,
}
"""The record of the answer to each question."""
