//! Sources: sunlight of ASTM G173-03 (AM1.5 global), soda-lime glass of Rubin (Sol. Energy Mater. 12, 1985, 275), molar
//! absorption of peroxide from the EU Risk Assessment Report (2003), all worked out apart from this program.

use super::{check, reagent, row, shipped};
use brimstock::catalogue::{Container, Light, Optics, Photolysis};
use brimstock::decay::law::fade;
use brimstock::decay::light::{Bottle, Daylight, Fading, absorption, fading, glass, in_full_sun};
use brimstock::units::Molarity;

const RUBIN: &str = "Rubin 1985";
const EU_RAR: &str = "EU RAR 2003";
const SUNLIGHT: &str = "ASTM G173-03 with EU RAR 2003";
const DAYS_PER_YEAR: f64 = 365.25;

/// nm; transmission of 2 and of 4 mm.
#[allow(clippy::approx_constant, reason = "a transmission of 0.7071")]
const SODA_LIME: &[(f64, f64, f64)] = &[
    (295.0, 0.0, 0.0),
    (300.0, 0.0, 0.0),
    (305.0, 0.0004, 0.0),
    (310.0, 0.0158, 0.0003),
    (315.0, 0.1122, 0.0139),
    (320.0, 0.3087, 0.1048),
    (325.0, 0.4433, 0.2160),
    (330.0, 0.5641, 0.3494),
    (335.0, 0.6681, 0.4899),
    (340.0, 0.7456, 0.6098),
    (345.0, 0.8030, 0.7071),
    (350.0, 0.8417, 0.7765),
    (355.0, 0.8634, 0.8170),
    (360.0, 0.8787, 0.8460),
    (365.0, 0.8838, 0.8556),
    (370.0, 0.8882, 0.8639),
    (375.0, 0.8837, 0.8549),
    (380.0, 0.8782, 0.8443),
    (385.0, 0.8895, 0.8659),
    (390.0, 0.8973, 0.8810),
    (395.0, 0.9001, 0.8864),
    (400.0, 0.9024, 0.8909),
];

/// nm, transmission of 3 mm, tolerance.
const WINDOW: &[(f64, f64, f64)] = &[
    (310.0, 0.002, 0.0005),
    (320.0, 0.180, 0.0018),
    (340.0, 0.674, 0.0067),
    (350.0, 0.808, 0.0081),
    (400.0, 0.897, 0.0090),
];

#[test]
fn clear_glass() {
    let through = |nm, mm| glass(&shipped().optics().glass, nm, mm);
    let mut rows = Vec::new();
    for (nm, two, four) in SODA_LIME {
        rows.push(row(format!("2 mm at {nm} nm"), through(*nm, 2.0), *two, 5.1e-5, RUBIN));
        rows.push(row(format!("4 mm at {nm} nm"), through(*nm, 4.0), *four, 5.1e-5, RUBIN));
    }
    for (nm, three, tolerance) in WINDOW {
        rows.push(row(format!("3 mm at {nm} nm"), through(*nm, 3.0), *three, *tolerance, RUBIN));
    }
    check(rows);
}

fn photolysis() -> &'static Photolysis {
    let found = reagent("hydrogen-peroxide").decay.iter().find_map(|decay| decay.photolysis.as_ref());
    found.expect("light takes peroxide apart")
}

/// nm, L/(mol cm).
const PEROXIDE: &[(f64, f64)] = &[
    (280.0, 4.2),
    (290.0, 2.01),
    (300.0, 0.961),
    (310.0, 0.460),
    (320.0, 0.22),
    (330.0, 0.1064),
    (340.0, 0.0515),
    (350.0, 0.0249),
    (360.0, 0.01205),
    (380.0, 0.00282),
    (400.0, 0.00066),
];

#[test]
fn absorption_of_peroxide() {
    let rows = PEROXIDE.iter().map(|(nm, expected)| {
        row(format!("{nm} nm"), absorption(photolysis(), *nm), *expected, 0.003 * expected, EU_RAR)
    });
    check(rows.collect());
}

/// A bottle that light crosses in 6 cm.
fn bottle(container: Container) -> Bottle {
    Bottle { container, wall_mm: None, diameter_cm: 24.0 / std::f64::consts::PI }
}

/// The shipped figures with a wall that lets this through.
fn walled(container: Container, transmission: f64) -> Optics {
    let mut optics = shipped().optics().clone();
    let wall = optics.walls.iter_mut().find(|wall| wall.word == container).expect("every container has a wall");
    wall.transmission.value = transmission;
    optics
}

/// 3.00 g/100 mL.
fn three_percent() -> Molarity {
    Molarity::mol_per_l(0.882)
}

/// Container, its transmission, a window or none; thin, 1/s; what the inside of a thick one gets of that.
const WALLS: &[(&str, Container, f64, bool, f64, f64)] = &[
    // Natural plastic that lets everything through is no wall at all.
    ("bare", Container::NaturalPlastic, 1.0, false, 1.066e-6, 0.52),
    ("2 mm of glass", Container::ClearGlass, 1.0, false, 5.14e-7, 0.67),
    ("window and 2 mm of glass", Container::ClearGlass, 1.0, true, 2.62e-7, 0.78),
];

#[test]
fn full_sun_on_thin_and_on_thick_bottles() {
    let mut rows = Vec::new();
    for (what, container, transmission, window, thin, ratio) in WALLS {
        let optics = walled(*container, *transmission);
        let rate = |content| in_full_sun(&optics, photolysis(), bottle(*container), *window, content);
        let found = rate(Molarity::mol_per_l(0.0));
        rows.push(row(format!("{what}: thin"), found, *thin, 0.01 * thin, SUNLIGHT));
        let nearly = rate(Molarity::mol_per_l(1e-9));
        rows.push(row(format!("{what}: 1e-9 mol/L"), nearly / found, 1.0, 1e-6, "definition"));
        // Half of the last digit, and 0.7 % for bins of 5 nm.
        let tolerance = 0.005 + 0.007 * ratio;
        rows.push(row(format!("{what}: thick/thin"), rate(three_percent()) / found, *ratio, tolerance, SUNLIGHT));
    }
    check(rows);
}

/// A figure and half of its last digit.
type Printed = (f64, f64);

struct Case {
    what: &'static str,
    light: Light,
    container: Container,
    transmission: f64,
    /// Hours a day that the rate is of.
    hours: f64,
    /// 1/s.
    rate: Printed,
    /// Per cent.
    lost_in_30_days: Printed,
    lost_in_a_year: Printed,
    half_life_days: Option<Printed>,
}

/// 3.00 g/100 mL, 6 cm; the transmissions are the table's own.
const CASES: &[Case] = &[
    Case {
        what: "sun, clear glass",
        light: Light::Outdoors,
        container: Container::ClearGlass,
        transmission: 1.0,
        hours: 5.0,
        rate: (3.46e-7, 0.005e-7),
        lost_in_30_days: (17.0, 0.05),
        lost_in_a_year: (90.0, 0.5),
        half_life_days: Some((111.0, 0.5)),
    },
    Case {
        what: "sun, amber at its limit",
        light: Light::Outdoors,
        container: Container::AmberGlass,
        transmission: 0.10,
        hours: 5.0,
        rate: (5.6e-8, 0.05e-8),
        lost_in_30_days: (3.0, 0.05),
        lost_in_a_year: (31.0, 0.5),
        half_life_days: Some((683.0, 0.5)),
    },
    Case {
        what: "sun, amber",
        light: Light::Outdoors,
        container: Container::AmberGlass,
        transmission: 0.01,
        hours: 5.0,
        rate: (5.6e-9, 0.05e-9),
        lost_in_30_days: (0.30, 0.005),
        lost_in_a_year: (3.6, 0.05),
        half_life_days: None,
    },
    Case {
        what: "sun, natural plastic",
        light: Light::Outdoors,
        container: Container::NaturalPlastic,
        transmission: 0.585,
        hours: 5.0,
        rate: (3.27e-7, 0.005e-7),
        lost_in_30_days: (16.2, 0.05),
        lost_in_a_year: (88.0, 0.5),
        half_life_days: Some((118.0, 0.5)),
    },
    Case {
        what: "sun, opaque plastic",
        light: Light::Outdoors,
        container: Container::OpaquePlastic,
        transmission: 0.001,
        hours: 5.0,
        rate: (5.6e-10, 0.05e-10),
        lost_in_30_days: (0.03, 0.005),
        lost_in_a_year: (0.4, 0.05),
        half_life_days: None,
    },
    Case {
        what: "sill, clear glass",
        light: Light::Sill,
        container: Container::ClearGlass,
        transmission: 1.0,
        hours: 2.0,
        rate: (2.03e-7, 0.005e-7),
        lost_in_30_days: (4.3, 0.05),
        lost_in_a_year: (41.0, 0.5),
        half_life_days: Some((473.0, 0.5)),
    },
    Case {
        what: "sill, amber at its limit",
        light: Light::Sill,
        container: Container::AmberGlass,
        transmission: 0.10,
        hours: 2.0,
        rate: (2.7e-8, 0.05e-8),
        lost_in_30_days: (0.58, 0.005),
        lost_in_a_year: (6.8, 0.05),
        half_life_days: None,
    },
    Case {
        what: "sill, amber",
        light: Light::Sill,
        container: Container::AmberGlass,
        transmission: 0.01,
        hours: 2.0,
        rate: (2.7e-9, 0.05e-9),
        lost_in_30_days: (0.06, 0.005),
        lost_in_a_year: (0.7, 0.05),
        half_life_days: None,
    },
    Case {
        what: "room, clear glass",
        light: Light::Bright,
        container: Container::ClearGlass,
        transmission: 1.0,
        hours: 10.0,
        rate: (4.5e-10, 0.05e-10),
        lost_in_30_days: (0.05, 0.005),
        lost_in_a_year: (0.59, 0.005),
        half_life_days: None,
    },
    Case {
        what: "room, amber at its limit",
        light: Light::Bright,
        container: Container::AmberGlass,
        transmission: 0.10,
        hours: 10.0,
        rate: (6e-11, 0.5e-11),
        lost_in_30_days: (0.0, 0.01),
        lost_in_a_year: (0.08, 0.005),
        half_life_days: None,
    },
    Case {
        what: "room, opaque plastic",
        light: Light::Bright,
        container: Container::OpaquePlastic,
        transmission: 0.001,
        hours: 10.0,
        rate: (6e-13, 0.5e-13),
        lost_in_30_days: (0.0, 0.01),
        lost_in_a_year: (0.0, 0.005),
        half_life_days: None,
    },
];

impl Case {
    fn fading(&self) -> Fading {
        let optics = walled(self.container, self.transmission);
        let daylight = Daylight { light: self.light, sun_hours: None };
        let found = fading(&optics, photolysis(), bottle(self.container), daylight, three_percent(), f64::ln(30.0));
        found.expect("there is light")
    }

    /// Per cent lost in so many days at the rate of the fresh bottle.
    fn lost(&self, days: f64) -> f64 {
        100.0 * (1.0 - (-self.fading().per_year * days / DAYS_PER_YEAR).exp())
    }
}

#[test]
fn bottles_in_the_light() {
    let mut rows = Vec::new();
    let mut add = |what: String, found: f64, (expected, half): Printed| {
        rows.push(row(what, found, expected, 0.01 * expected + half, SUNLIGHT));
    };
    for case in CASES {
        let (what, per_year) = (case.what, case.fading().per_year);
        add(format!("{what}: 1/s"), per_year / (case.hours * 3600.0 * DAYS_PER_YEAR), case.rate);
        add(format!("{what}: % in 30 days"), case.lost(30.0), case.lost_in_30_days);
        add(format!("{what}: % in a year"), case.lost(DAYS_PER_YEAR), case.lost_in_a_year);
        if let Some(half_life) = case.half_life_days {
            add(format!("{what}: half-life, days"), 2.0_f64.ln() * DAYS_PER_YEAR / per_year, half_life);
        }
    }
    check(rows);
}

#[test]
fn a_weaker_bottle_shades_itself_less() {
    let mut rows = Vec::new();
    for case in CASES {
        let left = fade(f64::ln(30.0), 0.0, 30.0 / DAYS_PER_YEAR, 30.0 / DAYS_PER_YEAR, case.fading(), 0.0).ln_content;
        let found = 100.0 * (1.0 - left.exp() / 30.0);
        // The table keeps to the rate of the fresh bottle.
        let (expected, half) = case.lost_in_30_days;
        rows.push(row(format!("{}: % in 30 days", case.what), found, expected, 0.06 * expected + half, SUNLIGHT));
        let steady = case.lost(30.0);
        assert!(found > steady * (1.0 - 1e-9), "{}: {found} % lost, {steady} % at the first rate", case.what);
    }
    check(rows);
}

#[test]
fn nothing_fades_in_the_dark() {
    for sun_hours in [None, Some(0.0)] {
        let daylight = Daylight { light: Light::Dark, sun_hours };
        let clear = bottle(Container::ClearGlass);
        let found = fading(shipped().optics(), photolysis(), clear, daylight, three_percent(), f64::ln(30.0));
        assert_eq!(found, None);
    }
}

#[test]
fn how_sure_light_is() {
    // Absorption 0.25, yield 0.25, geometry 0.35, season 0.4, wall 0.3.
    check(vec![row("clear glass in the sun, sd of ln k", CASES[0].fading().sd_ln, 0.7, 0.02, "judgement")]);
}
