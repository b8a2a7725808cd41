//! What daylight does to a bottle: photons, windows, walls, and what the reagent makes of them.

use crate::catalogue::{Container, Glass, Light, Optics, Photolysis};
use crate::units::Molarity;

/// Avogadro's number, 1/mol. Source: `definition` (exact since 2019).
const PER_MOLE: f64 = 6.022_140_76e23;

/// Seconds in an hour and days in a year.
const SECONDS_PER_HOUR: f64 = 3600.0;
const DAYS_PER_YEAR: f64 = 365.25;

/// A container, as far as light is concerned.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bottle {
    /// What its wall is made of.
    pub container: Container,
    /// How thick it is, mm, where the keeper knows and it counts (clear glass).
    pub wall_mm: Option<f64>,
    /// Its diameter, cm.
    pub diameter_cm: f64,
}

impl Bottle {
    /// A container of a volume that nobody measured: so many times as tall as it is wide.
    ///
    /// `d = (4 V / (pi s))^(1/3)`; 500 mL and `s` = 2.5 give 6.3 cm.
    ///
    /// Source: `judgement`.
    #[must_use]
    pub fn of_volume(optics: &Optics, container: Container, wall_mm: Option<f64>, ml: f64) -> Self {
        let slenderness = optics.bottle.slenderness.value;
        let diameter_cm = libm::cbrt(4.0 * ml.max(1.0) / (std::f64::consts::PI * slenderness));
        Bottle { container, wall_mm, diameter_cm }
    }

    /// The mean way of light that comes from the side: `pi d / 4`, cm. Source: `definition`.
    #[must_use]
    pub fn path_cm(self) -> f64 {
        std::f64::consts::FRAC_PI_4 * self.diameter_cm
    }
}

/// The daylight of a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Daylight {
    /// Its class.
    pub light: Light,
    /// Hours of full sun a day, where the keeper gave them.
    pub sun_hours: Option<f64>,
}

/// How fast light weakens one bottle in one place.
///
/// `d ln C / dt = -per_year (C / reference)^(-power)`, at most `thin`: a thick bottle shades its own inside, so that a weaker
/// one loses a larger share, until it is thin enough to shade nothing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fading {
    /// Share lost a year at the reference content.
    pub per_year: f64,
    /// Share lost a year where nothing shades anything.
    pub thin: f64,
    /// How much the bottle shades itself, 0 (thin) to 1 (all light is taken up).
    pub power: f64,
    /// Logarithm of the reference content, in the unit of the belief.
    pub reference_ln: f64,
    /// Standard deviation of the logarithm of both.
    pub sd_ln: f64,
}

/// Light that takes less than this a year at its upper end is counted, but neither its error nor its way with the content is
/// followed.
const FAINT: f64 = 0.005;

impl Fading {
    /// True for light that hardly matters.
    #[must_use]
    pub fn is_faint(&self) -> bool {
        self.thin * libm::exp(2.0 * self.sd_ln) < FAINT
    }
}

/// How much of the light a soda-lime pane lets through.
///
/// `T = (1 - R)² a / (1 - R² a²)`, `a = exp(-4 pi k d / L)`, `R = ((n - 1)/(n + 1))²`; 3 mm at 350 nm let 0.808 through.
///
/// Source: `rubin-1985`.
#[must_use]
pub fn glass(glass: &Glass, nm: f64, thickness_mm: f64) -> f64 {
    let micrometres = nm / 1000.0;
    let [a, b, c] = glass.index;
    let index = a + b * micrometres * micrometres + c / (micrometres * micrometres);
    let surface = ((index - 1.0) / (index + 1.0)) * ((index - 1.0) / (index + 1.0));
    let extinction = log_linear(&glass.extinction, nm);
    let inside = libm::exp(-4.0 * std::f64::consts::PI * extinction * thickness_mm * 1e6 / nm);
    (1.0 - surface) * (1.0 - surface) * inside / (1.0 - surface * surface * inside * inside)
}

/// Decadic molar absorption, L/(mol cm): the logarithm interpolated over the wavelength. Peroxide at 350 nm: 0.0249.
///
/// Source: the source of the reagent's `photolysis`.
#[must_use]
pub fn absorption(photolysis: &Photolysis, nm: f64) -> f64 {
    log_linear(&photolysis.absorption, nm)
}

/// Full sun inside a bottle: photons that get through, by how strongly the reagent takes them up.
struct Inside {
    /// `[photons / (cm² s), L / (mol cm)]`, a bin each.
    bins: Vec<[f64; 2]>,
    path_cm: f64,
    quantum_yield: f64,
}

impl Inside {
    fn of(optics: &Optics, photolysis: &Photolysis, bottle: Bottle, window: bool) -> Self {
        let wall = optics.wall(bottle.container);
        let last = optics.spectrum.bins.len() - 1;
        let bin = |(index, [nm, photons]): (usize, &[f64; 2])| {
            let width = if index == last { optics.spectrum.last_bin_nm } else { optics.spectrum.bin_nm };
            let pane = if window { glass(&optics.glass, *nm, optics.glass.window_mm.value) } else { 1.0 };
            let through = match &wall.wall_mm {
                Some(usual) => glass(&optics.glass, *nm, bottle.wall_mm.unwrap_or(usual.value)),
                None => 1.0,
            };
            [photons * width * pane * through * wall.transmission.value, absorption(photolysis, *nm)]
        };
        Inside {
            bins: optics.spectrum.bins.iter().enumerate().map(bin).collect(),
            path_cm: bottle.path_cm(),
            quantum_yield: photolysis.quantum_yield.value,
        }
    }

    fn loss(&self, content: Molarity) -> f64 {
        let depth = content.to_mol_per_l() * self.path_cm;
        // (1 - 10^(-e c)) / c, without loss of figures for small c.
        let taken_up = |decadic: f64| {
            if depth > 0.0 {
                -libm::expm1(-std::f64::consts::LN_10 * decadic * depth) / depth
            } else {
                std::f64::consts::LN_10 * decadic
            }
        };
        let sum: f64 = self.bins.iter().map(|[photons, decadic]| photons * taken_up(*decadic)).sum();
        1000.0 / PER_MOLE * self.quantum_yield * sum
    }
}

/// Loss in full sun, as a share a second.
///
/// Thick: `k = 1000 / N_A × sum(Phi N T_window T_wall (1 - 10^(-e C l)) / (C l) dL)`, which for small `e C l` becomes the thin
/// form `1000 ln 10 / N_A × sum(e Phi N T dL)`. Thin peroxide without any glass: 1.066e-6 /s.
///
/// Source: `astm-g173`, `rubin-1985` and the source of the reagent's `photolysis`.
#[must_use]
pub fn in_full_sun(optics: &Optics, photolysis: &Photolysis, bottle: Bottle, window: bool, content: Molarity) -> f64 {
    Inside::of(optics, photolysis, bottle, window).loss(content)
}

/// How fast light weakens a bottle in a place, around a content; nothing in the dark.
///
/// Full sun counts for its hours a day; a room's brightness for its ten hours, at `4.41e-6` of the sun behind a window for
/// each lux. The power is that between the reference content and half of it.
///
/// Source: the sources of `hazards/light.toml` and of the reagent's `photolysis`.
#[must_use]
pub fn fading(
    optics: &Optics,
    photolysis: &Photolysis,
    bottle: Bottle,
    daylight: Daylight,
    reference: Molarity,
    reference_ln: f64,
) -> Option<Fading> {
    let place = optics.daylight(daylight.light);
    let hours = match (&place.sun_hours, &place.lux) {
        (Some(usual), _) => daylight.sun_hours.unwrap_or(usual.value),
        (None, Some(lux)) => lux.value * optics.room.per_lux.value * optics.room.hours.value,
        (None, None) => 0.0,
    };
    if hours <= 0.0 {
        return None;
    }
    let inside = Inside::of(optics, photolysis, bottle, !place.open);
    let full = inside.loss(reference);
    let half = inside.loss(Molarity::mol_per_l(0.5 * reference.to_mol_per_l()));
    let parts = [
        photolysis.absorption_sd_ln,
        photolysis.quantum_yield.relative_sd.unwrap_or(0.0),
        optics.spread.geometry.value,
        optics.wall(bottle.container).sd_ln,
        place.sd_ln,
    ];
    let a_year = hours * SECONDS_PER_HOUR * DAYS_PER_YEAR;
    Some(Fading {
        per_year: full * a_year,
        thin: inside.loss(Molarity::mol_per_l(0.0)) * a_year,
        power: libm::log2(half / full),
        reference_ln,
        sd_ln: libm::sqrt(parts.iter().map(|sd| sd * sd).sum()),
    })
}

/// A positive quantity over the wavelength: its logarithm is interpolated, beyond the ends along the first or last stretch.
fn log_linear(points: &[[f64; 2]], nm: f64) -> f64 {
    let above = points.iter().position(|[x, _]| *x >= nm).unwrap_or(points.len() - 1).max(1);
    let ([x0, y0], [x1, y1]) = (points[above - 1], points[above]);
    let share = (nm - x0) / (x1 - x0);
    libm::exp(libm::log(y0) + share * (libm::log(y1) - libm::log(y0)))
}
