//! How strong a bottle still is, asked with whole commands: what it is kept in, where, how old, poured from what, tested how.

use std::fs;

use serde_json::Value;

use crate::harness::Bench;

/// A cupboard, a cool porch, and a sill with three hours of sun.
fn with_places() -> Bench {
    let bench = Bench::new();
    bench.on("2030-01-01", "place add sill --temp 20 --light sill --sun 3").ok();
    bench.on("2030-01-01", "place add porch --temp 8 --light dark").ok();
    bench
}

/// A bottle of 3 % peroxide that came on the first of March.
fn peroxide(bench: &Bench, more: &str) {
    bench.on("2031-03-01", &format!("receive hydrogen-peroxide \"3 % w/v\" 500mL {more}")).ok();
}

/// Low, median and high of an answer, g/L.
#[track_caller]
fn band(answer: &Value) -> [f64; 3] {
    ["low_g_per_l", "median_g_per_l", "high_g_per_l"]
        .map(|field| answer["strength"][field].as_f64().unwrap_or_else(|| panic!("{field}: {answer}")))
}

/// What `check` knows of a stock on a day.
#[track_caller]
fn check(bench: &Bench, day: &str, code: &str) -> Value {
    let ran = bench.on(day, &format!("--json check {code}"));
    assert!(ran.code <= 1, "{ran:?}");
    ran.json()
}

#[track_caller]
fn median(bench: &Bench, day: &str, code: &str) -> f64 {
    band(&check(bench, day, code))[1]
}

/// How wide a band is, high over low.
#[track_caller]
fn width(answer: &Value) -> f64 {
    let [low, _, high] = band(answer);
    high / low
}

#[track_caller]
fn share(answer: &Value, what: &str) -> f64 {
    let movers = answer["moved_by"].as_array().unwrap();
    movers.iter().find(|mover| mover["what"] == what).map_or(0.0, |mover| mover["share"].as_f64().unwrap())
}

#[track_caller]
fn near(found: f64, wanted: f64, share: f64) {
    assert!((found - wanted).abs() <= share * wanted.abs(), "{found} is not {wanted}");
}

/// A log of one reading a day at noon.
fn log(bench: &Bench, name: &str, first: &str, days: u64, celsius: f64) {
    let first: chrono::NaiveDate = first.parse().unwrap();
    let mut text = "time,temperature\n".to_owned();
    for day in 0..days {
        text.push_str(&format!("{} 12:00,{celsius}\n", first + chrono::Days::new(day)));
    }
    fs::write(bench.folder().join(name), text).unwrap();
}

#[test]
fn on_a_sill_clear_glass_weakens_more_than_amber_and_amber_more_than_the_dark() {
    let bench = with_places();
    for more in [
        "--at sill --container clear-glass",
        "--at sill --container amber-glass",
        "--at sill --container opaque-plastic",
        "--at cupboard --container clear-glass",
    ] {
        peroxide(&bench, more);
    }
    let [clear, amber, opaque, dark] = ["HP-1", "HP-2", "HP-3", "HP-4"].map(|code| median(&bench, "2031-06-01", code));
    assert!(clear < amber && amber < opaque && opaque <= dark, "{clear} {amber} {opaque} {dark}");
    let answer = check(&bench, "2031-06-01", "HP-1");
    assert_eq!(answer["moved_by"][0]["what"], "light", "{answer}");
    assert!(share(&answer, "light") > share(&check(&bench, "2031-06-01", "HP-2"), "light"));
    assert_eq!(share(&check(&bench, "2031-06-01", "HP-4"), "light"), 0.0);
    // What light took is known to a factor of two or so, and the band says it.
    assert!(width(&answer) > width(&check(&bench, "2031-06-01", "HP-4")));
}

#[test]
fn wall_and_width_of_a_clear_bottle_count() {
    let bench = with_places();
    peroxide(&bench, "--at sill --container clear-glass --wall 2mm --diameter 7cm");
    peroxide(&bench, "--at sill --container clear-glass --wall 5mm --diameter 7cm");
    peroxide(&bench, "--at sill --container clear-glass --wall 2mm --diameter 14cm");
    let [plain, thick, wide] = ["HP-1", "HP-2", "HP-3"].map(|code| median(&bench, "2031-06-01", code));
    assert!(thick > plain, "a thicker wall let more light in: {plain} {thick}");
    assert!(wide > plain, "a wider bottle weakened more: {plain} {wide}");
}

#[test]
fn more_sun_weakens_more_and_a_move_into_the_dark_ends_it() {
    let bench = with_places();
    bench.on("2030-01-01", "place add window --temp 20 --light sill --sun 6").ok();
    bench.on("2030-01-01", "place add shelf --temp 20 --light dim").ok();
    for place in ["shelf", "sill", "window"] {
        peroxide(&bench, &format!("--at {place} --container clear-glass"));
    }
    let [dim, sill, window] = ["HP-1", "HP-2", "HP-3"].map(|code| median(&bench, "2031-05-01", code));
    assert!(window < sill && sill < dim, "{window} {sill} {dim}");
    bench.on("2031-05-01", "move HP-3 cupboard").ok();
    near(median(&bench, "2031-06-01", "HP-3"), window, 0.02);
    assert!(median(&bench, "2031-06-01", "HP-2") < 0.97 * sill);
}

#[test]
fn a_place_that_gets_darker_ends_the_light() {
    let bench = with_places();
    peroxide(&bench, "--at sill --container clear-glass");
    peroxide(&bench, "--at sill --container clear-glass");
    let before = median(&bench, "2031-04-01", "HP-1");
    bench.on("2031-04-01", "place set sill --light dark").ok();
    near(median(&bench, "2031-04-01", "HP-1"), before, 1e-6);
    near(median(&bench, "2031-06-01", "HP-1"), before, 0.02);
}

#[test]
fn a_decanted_bottle_is_labelled_with_what_was_known_thinned() {
    let bench = with_places();
    peroxide(&bench, "--at sill --container clear-glass");
    bench.on("2031-06-01", "open HP-1").ok();
    let source = check(&bench, "2031-06-01", "HP-1");
    let said =
        bench.on("2031-06-01", "--json decant HP-1 100mL --water 300mL --at cupboard --container amber-glass").json();
    assert_eq!((said["stock"].as_str(), said["left"]["value"].as_f64()), (Some("HP-2"), Some(400.0)));
    let made = check(&bench, "2031-06-01", "HP-2");
    // A log-normal with the ends of the source's band.
    let [low, _, high] = band(&source);
    near(made["strength"]["label_g_per_l"].as_f64().unwrap(), (low * high).sqrt() / 4.0, 1e-4);
    // Thinning does not make anything better known.
    assert!(width(&made) > 0.95 * width(&source), "{made}");
    assert_eq!(check(&bench, "2031-06-01", "HP-1")["left"]["value"], 400.0);
    let shown = bench.on("2031-06-01", "--json show HP-2").json();
    assert_eq!((shown["condition"].as_str(), shown["place"].as_str()), (Some("made-up"), Some("cupboard")));
    let shown = bench.on("2031-06-01", "--json show HP-1").json();
    assert_eq!(shown["journal"][2]["event"], "taken");
    // The same by the volume of the whole.
    bench.on("2031-06-01", "decant HP-1 100mL --make-up-to 400mL --container amber-glass").ok();
    let whole = check(&bench, "2031-06-01", "HP-3");
    assert_eq!(whole["strength"]["label_g_per_l"], made["strength"]["label_g_per_l"]);
    assert_eq!(bench.on("2031-06-01", "--json show HP-3").json()["place"], "sill");
}

#[test]
fn a_thinned_bottle_is_never_believed_stronger_than_what_it_was_poured_from() {
    // Of this bottle it is hardly known how weak it is; how strong it can be is known well.
    let bench = with_places();
    peroxide(&bench, "--at cupboard --condition opened --made unknown");
    let source = check(&bench, "2031-03-02", "HP-1");
    bench.on("2031-03-02", "decant HP-1 100mL --make-up-to 300mL --container amber-glass").ok();
    let made = check(&bench, "2031-03-02", "HP-2");
    let wanted = band(&source).map(|value| value / 3.0);
    assert!(band(&made)[2] < 1.15 * wanted[2], "{:?} is not {wanted:?}", band(&made));
    assert!(
        band(&made)[0] < 1.15 * wanted[0] && band(&made)[0] > 0.5 * wanted[0],
        "{:?} is not {wanted:?}",
        band(&made)
    );
}

#[test]
fn the_journal_shows_container_age_and_what_it_was_poured_from() {
    let bench = with_places();
    peroxide(&bench, "--at sill --container clear-glass --wall 3mm --diameter 8cm --made 2030-06-01");
    bench.on("2031-03-02", "correct HP-1 1 --wall 4mm --because \"measured it\"").ok();
    bench.on("2031-03-02", "correct HP-1 1 --made unknown --because \"that was another label\"").ok();
    bench.on("2031-03-02", "open HP-1").ok();
    bench.on("2031-03-02", "decant HP-1 100mL --container natural-plastic").ok();
    let says = |code: &str, line: usize| {
        let shown = bench.on("2031-03-03", &format!("--json show {code}")).json();
        shown["journal"][line - 1]["says"].as_str().unwrap().to_owned()
    };
    let first = says("HP-1", 1);
    for word in ["clear-glass", "3 mm", "8 cm", "2030-06-01"] {
        assert!(first.contains(word), "`{word}` is missing: {first}");
    }
    assert!(says("HP-1", 2).contains("4 mm"), "{}", says("HP-1", 2));
    assert!(says("HP-1", 3).contains("unknown"), "{}", says("HP-1", 3));
    let poured = says("HP-2", 1);
    assert!(poured.contains("HP-1") && poured.contains("natural-plastic"), "{poured}");
}

#[test]
fn a_decanted_bottle_without_water_is_as_strong_as_the_first() {
    let bench = with_places();
    peroxide(&bench, "--at cupboard --condition opened");
    bench.on("2031-04-01", "decant HP-1 200mL --container amber-glass --code jar").ok();
    near(median(&bench, "2031-04-01", "jar"), median(&bench, "2031-04-01", "HP-1"), 0.02);
}

#[test]
fn a_solid_is_dissolved_into_a_stock_of_its_own() {
    let bench = with_places();
    bench.on("2031-03-01", "receive potassium-permanganate 500g --at cupboard --condition opened").ok();
    bench.on("2031-03-02", "decant PP-1 20g --make-up-to 1L --container amber-glass").ok();
    let made = check(&bench, "2031-03-02", "PP-2");
    assert_eq!(made["left"]["unit"], "mL");
    near(made["strength"]["label_g_per_l"].as_f64().unwrap(), 20.0, 0.03);
    assert_eq!(check(&bench, "2031-03-02", "PP-1")["left"]["value"], 480.0);
    bench.on("2031-03-02", "decant PP-1 20g --water 1L").fails(2, &["--make-up-to"]);
}

#[test]
fn what_cannot_be_decanted_leaves_no_trace() {
    let bench = with_places();
    peroxide(&bench, "--at cupboard");
    peroxide(&bench, "--at cupboard --condition opened");
    let before = fs::read(bench.register()).unwrap();
    let day = "2031-04-01";
    bench.on(day, "decant HP-1 100mL --water 200mL").fails(2, &["HP-1", "sealed", "brimstock open HP-1"]);
    // The first line would overdraw, the second has a code or a place that does not serve: neither is written.
    bench.on(day, "decant HP-2 501mL --water 200mL").fails(2, &["501 mL", "only 500 mL"]);
    bench.on(day, "decant HP-2 100mL --code HP-1").fails(2, &["HP-1"]);
    bench.on(day, "decant HP-2 100mL --at attic").fails(2, &["no place `attic`"]);
    bench.on(day, "decant HP-2 100mL --make-up-to 50mL").fails(2, &["--make-up-to", "50 mL", "100 mL"]);
    bench.on(day, "decant HP-2 100mL --tap").fails(2, &["--tap"]);
    bench.on(day, "decant HP-2 100mL --date 2031-02-01").fails(2, &["2031-02-01"]);
    bench.on(day, "decant HP-2 100mL --container amber-glass --wall 2mm").fails(2, &["--wall", "amber-glass"]);
    assert_eq!(before, fs::read(bench.register()).unwrap(), "a refused command left a trace");
}

#[test]
fn tap_water_makes_it_keep_worse() {
    let bench = with_places();
    peroxide(&bench, "--at cupboard --condition opened");
    bench.on("2031-03-02", "decant HP-1 100mL --water 300mL --container amber-glass").ok();
    bench.on("2031-03-02", "decant HP-1 100mL --water 300mL --tap --container amber-glass").ok();
    assert_eq!(bench.on("2031-03-02", "--json show HP-3").json()["condition"], "made-up-tap");
    let (pure, tap) = (check(&bench, "2031-06-01", "HP-2"), check(&bench, "2031-06-01", "HP-3"));
    assert!(band(&tap)[1] < band(&pure)[1] && width(&tap) > width(&pure), "{pure} {tap}");
}

#[test]
fn a_dirty_bottle_stays_dirty_when_it_is_poured_over() {
    let bench = with_places();
    peroxide(&bench, "--at cupboard --condition dirty");
    bench.on("2031-03-02", "assay HP-1 figure \"2.9 % w/v\" --sd 3%").ok();
    bench.on("2031-03-02", "decant HP-1 100mL --water 300mL --container amber-glass").ok();
    assert_eq!(bench.on("2031-03-02", "--json show HP-2").json()["condition"], "dirty");
}

#[test]
fn a_swollen_bottle_is_weaker_and_less_known_from_that_day_on() {
    let bench = with_places();
    peroxide(&bench, "--at cupboard --condition opened");
    peroxide(&bench, "--at cupboard --condition opened");
    let before = band(&check(&bench, "2031-06-01", "HP-1"));
    let said = bench.on("2031-06-01", "--json note HP-1 swollen").json();
    assert_eq!(said["event"], "noted");
    assert!(said["assumed"].to_string().contains("vented"), "{said}");
    // The days before keep what they had.
    for (after, before) in band(&check(&bench, "2031-06-01", "HP-1")).into_iter().zip(before) {
        near(after, before, 1e-4);
    }
    let (swollen, sound) = (check(&bench, "2031-09-01", "HP-1"), check(&bench, "2031-09-01", "HP-2"));
    assert!(band(&swollen)[1] < band(&sound)[1] && width(&swollen) > 2.0 * width(&sound), "{swollen} {sound}");
    assert_eq!(bench.on("2031-09-01", "--json show HP-1").json()["condition"], "dirty");
    for what in ["gassing", "dirty", "dipped-into", "poured-back", "browned"] {
        bench.on("2031-09-01", &format!("note HP-2 {what}")).ok();
    }
    bench.on("2031-09-01", "note HP-2 haunted").fails(2, &["haunted"]);
}

#[test]
fn opening_changes_the_rate_from_that_day_on() {
    let bench = with_places();
    for _ in 0..2 {
        peroxide(&bench, "--at cupboard");
    }
    bench.on("2031-06-01", "open HP-1").ok();
    near(median(&bench, "2031-06-01", "HP-1"), median(&bench, "2031-06-01", "HP-2"), 1e-9);
    assert!(median(&bench, "2031-12-01", "HP-1") < median(&bench, "2031-12-01", "HP-2"));
}

#[test]
fn an_unknown_age_widens_the_answer() {
    let bench = with_places();
    peroxide(&bench, "--at cupboard");
    peroxide(&bench, "--at cupboard --made unknown");
    let (new, unknown) = (check(&bench, "2031-03-01", "HP-1"), check(&bench, "2031-03-01", "HP-2"));
    assert!(width(&unknown) > width(&new) && band(&unknown)[1] < band(&new)[1], "{new} {unknown}");
    // A test tells it again, whatever its age.
    bench.on("2031-03-02", "assay HP-2 figure \"2.8 % w/v\" --sd 3%").ok();
    near(median(&bench, "2031-03-02", "HP-2"), 28.0, 0.03);
}

#[test]
fn a_bottle_made_earlier_is_weaker_than_one_that_was_new() {
    let bench = with_places();
    peroxide(&bench, "--at cupboard");
    peroxide(&bench, "--at cupboard --made 2029-03-01");
    peroxide(&bench, "--at cupboard --made 2031-03-01");
    let [new, old, same] = ["HP-1", "HP-2", "HP-3"].map(|code| median(&bench, "2031-04-01", code));
    assert!(old < new, "{old} {new}");
    near(same, new, 1e-9);
}

#[test]
fn bleach_that_was_made_earlier_is_weaker() {
    let bench = with_places();
    for made in ["2031-03-01", "2030-09-01", "unknown"] {
        let line = "receive bleach \"8.25 % w/w\" 1L --at cupboard --container opaque-plastic --made";
        bench.on("2031-03-01", &format!("{line} {made}")).ok();
    }
    let [new, old, unknown] = ["BL-1", "BL-2", "BL-3"].map(|code| check(&bench, "2031-03-02", code));
    assert!(band(&old)[1] < 0.9 * band(&new)[1], "{new} {old}");
    assert!(width(&unknown) > width(&new), "{new} {unknown}");
}

#[test]
fn a_container_told_after_the_fact_changes_the_estimate() {
    let bench = with_places();
    peroxide(&bench, "--at sill --container clear-glass");
    peroxide(&bench, "--at sill --container amber-glass");
    let clear = median(&bench, "2031-06-01", "HP-1");
    bench.on("2031-06-01", "correct HP-1 1 --container amber-glass --because \"looked again\"").ok();
    let told = median(&bench, "2031-06-01", "HP-1");
    assert!(told > clear);
    near(told, median(&bench, "2031-06-01", "HP-2"), 1e-9);
    let shown = bench.on("2031-06-01", "--json show HP-1").json();
    assert_eq!(shown["journal"].as_array().unwrap().len(), 2, "the first line stays: {shown}");
    bench.on("2031-06-01", "correct HP-1 1 --made 2029-03-01 --because \"read the bottom\"").ok();
    assert!(median(&bench, "2031-06-01", "HP-1") < told);
    bench
        .on("2031-06-01", "correct HP-1 1 --made 2031-03-02 --because x")
        .fails(2, &["--made 2031-03-02", "2031-03-01"]);
}

#[test]
fn a_container_that_nobody_told_is_the_widest() {
    let bench = with_places();
    for more in ["", "--container clear-glass", "--container amber-glass", "--container unknown"] {
        peroxide(&bench, &format!("--at sill {more}"));
    }
    let [unsaid, clear, amber, unknown] =
        ["HP-1", "HP-2", "HP-3", "HP-4"].map(|code| check(&bench, "2031-06-01", code));
    assert_eq!(band(&unsaid), band(&unknown));
    assert!(band(&clear)[1] <= band(&unsaid)[1] && band(&unsaid)[1] <= band(&amber)[1], "{clear} {unsaid} {amber}");
}

#[test]
fn what_a_thermometer_logged_changes_the_estimate() {
    let bench = with_places();
    bench.on("2031-03-01", "receive bleach \"8.25 % w/w\" 1L --at cupboard --container opaque-plastic").ok();
    let before = median(&bench, "2031-06-01", "BL-1");
    log(&bench, "hot.csv", "2031-03-01", 92, 32.0);
    let said = bench.on("2031-06-01", "--json place log cupboard hot.csv").json();
    assert_eq!(said["places"][0]["logged_days"], 92, "{said}");
    let after = check(&bench, "2031-06-01", "BL-1");
    assert!(band(&after)[1] < 0.9 * before, "{before} {after}");
    assert!(share(&after, "warmth") > 0.05, "{after}");
    // A later log of the same days holds.
    log(&bench, "cool.csv", "2031-03-01", 92, 8.0);
    bench.on("2031-06-01", "place log cupboard cool.csv").ok();
    assert!(median(&bench, "2031-06-01", "BL-1") > before);
}

#[test]
fn places_are_listed_with_their_mean_kinetic_temperature() {
    let bench = with_places();
    bench.on("2030-01-01", "place add veranda --summer 24 --winter 8").ok();
    let listed = bench.on("2031-06-01", "--json place list").json();
    let of = |listed: &Value, name: &str, field: &str| {
        let places = listed["places"].as_array().unwrap();
        places.iter().find(|place| place["name"] == name).unwrap()[field].as_f64().unwrap()
    };
    near(of(&listed, "cupboard", "mean_kinetic_c"), 20.0, 1e-6);
    // Warm days count more than cold ones: above the mean, below the summer.
    let veranda = of(&listed, "veranda", "mean_kinetic_c");
    assert!(veranda > 16.5 && veranda < 24.0, "{listed}");
    log(&bench, "year.csv", "2030-06-01", 365, 25.0);
    bench.on("2031-06-01", "place log cupboard year.csv").ok();
    let listed = bench.on("2031-06-01", "--json place list").json();
    near(of(&listed, "cupboard", "mean_kinetic_c"), 25.0, 1e-6);
    assert_eq!(of(&listed, "cupboard", "logged_days"), 365.0);
    assert_eq!(of(&listed, "porch", "logged_days"), 0.0);
    assert_eq!(of(&listed, "sill", "sun_hours"), 3.0);
    let text = bench.on("2031-06-01", "place list").ok();
    assert!(text.contains("25 °C") && text.contains("365 days"), "{text}");
}

#[test]
fn half_warm_and_half_cool_readings_are_above_their_mean() {
    let bench = with_places();
    let rows = "time,temperature\n2031-05-01 00:00,20\n2031-05-01 12:00,30\n2031-05-02 00:00,20\n2031-05-02 12:00,30\n";
    fs::write(bench.folder().join("log.csv"), rows).unwrap();
    let said = bench.on("2031-06-01", "place log porch log.csv").ok();
    // 83.144 kJ/mol, 20 and 30 °C for the same time: 26.3 °C.
    assert!(said.contains("26.3 °C") && said.contains("4 readings on 2 days"), "{said}");
}

#[test]
fn a_messy_log_names_each_bad_row_and_loads_nothing() {
    let bench = with_places();
    let before = fs::read(bench.register()).unwrap();
    let rows = [
        "time,temperature",
        "2031-05-01 12:00,19.5",
        "2031-05-02 12:00,900",
        "2031-05-01 06:00,19",
        "2031-05-03 12:00,warm",
        "03/04/2031 12:00,20",
        "2031-05-04 12:00,20",
        "2031-05-04 12:00,21",
        "2031-05-05 25:00,21",
        "2031-05-06 12:00,",
    ];
    fs::write(bench.folder().join("messy.csv"), rows.join("\n")).unwrap();
    bench.on("2031-06-01", "place log cupboard messy.csv").fails(
        2,
        &[
            "messy.csv",
            "7 rows",
            "row 3",
            "900",
            "70 °C",
            "row 4",
            "row 5",
            "`warm`",
            "row 6",
            "03/04/2031",
            "row 8",
            "twice",
            "row 9",
            "25:00",
            "row 10",
        ],
    );
    log(&bench, "ahead.csv", "2031-05-20", 30, 20.0);
    bench.on("2031-06-01", "place log cupboard ahead.csv").fails(2, &["2031-06-18", "today is 2031-06-01"]);
    for (name, text, word) in [
        ("empty.csv", "", "no reading"),
        ("heads.csv", "time,temperature\n", "no reading"),
        ("bare.csv", "a,b\n1,2\n", "no column of times"),
        ("cold.csv", "time,humidity\n2031-05-01 12:00,55\n", "no column of temperatures"),
        ("nan.csv", "time,temperature\n2031-05-01 12:00,nan\n", "row 2"),
        ("inf.csv", "time,temperature\n2031-05-01 12:00,inf\n", "row 2"),
        ("leap.csv", "time,temperature\n2031-02-29 12:00,20\n", "row 2"),
    ] {
        fs::write(bench.folder().join(name), text).unwrap();
        bench.on("2031-06-01", &format!("place log cupboard {name}")).fails(2, &[name, word]);
    }
    bench.on("2031-06-01", "place log attic ahead.csv").fails(2, &["attic"]);
    assert_eq!(before, fs::read(bench.register()).unwrap(), "a refused log left a trace");
}

#[test]
fn headings_semicolons_decimal_commas_marks_and_fahrenheit_are_read() {
    for (text, mean) in [
        ("2031-05-01 12:00,19.5\n2031-05-02 12:00,20.5\n", "mean 20 °C"),
        ("Time,Temperature (°C)\r\n2031-05-01T12:00:00,19.5\r\n2031-05-02T12:00:00,20.5\r\n", "mean 20 °C"),
        ("\u{feff}date;time;temperature\n2031-05-01;12:00;19,5\n2031-05-02;12:00;20,5\n", "mean 20 °C"),
        ("no.;temp;timestamp\n1;19,5;2031-05-01 12:00\n2;20,5;2031-05-02 12:00\n", "mean 20 °C"),
        ("2031-05-01 12:00\t19.5\n\n2031-05-02 12:00\t20.5\n", "mean 20 °C"),
        ("time,Temperature (°F)\n2031-05-01 12:00,68\n2031-05-02 12:00,86\n", "mean 25 °C"),
        ("time,temperature\n2031-05-01,\"19.5 °C\"\n2031-05-02,20.5C\n", "mean 20 °C"),
    ] {
        let bench = with_places();
        fs::write(bench.folder().join("log.csv"), text).unwrap();
        let said = bench.on("2031-06-01", "place log cupboard log.csv").ok();
        assert!(said.contains(mean) && said.contains("2 readings on 2 days"), "{text}: {said}");
    }
}

#[test]
fn fahrenheit_is_never_taken_for_celsius() {
    for text in [
        "time,temperature F\n2031-05-01 12:00,68\n2031-05-02 12:00,68\n",
        "time,temp (F)\n2031-05-01 12:00,68\n2031-05-02 12:00,68\n",
        "time,temp_f\n2031-05-01 12:00,68\n2031-05-02 12:00,68\n",
        "time,temperature\n2031-05-01 12:00,68F\n2031-05-02 12:00,68F\n",
        "time,temperature\n2031-05-01 12:00,68 °F\n2031-05-02 12:00,68 °F\n",
    ] {
        let bench = with_places();
        fs::write(bench.folder().join("log.csv"), text).unwrap();
        let ran = bench.on("2031-06-01", "place log cupboard log.csv");
        // Reading it right and refusing it are both honest.
        assert!(ran.code == 2 || ran.stdout.contains("mean 20 °C"), "{text}: {ran:?}");
    }
}

#[test]
fn a_decimal_comma_between_commas_is_refused() {
    let bench = with_places();
    let before = fs::read(bench.register()).unwrap();
    let text = "time,temperature\n2031-05-01 12:00,19,5\n2031-05-02 12:00,20,5\n";
    fs::write(bench.folder().join("log.csv"), text).unwrap();
    bench.on("2031-06-01", "place log cupboard log.csv").fails(2, &["row 2", "row 3"]);
    assert_eq!(before, fs::read(bench.register()).unwrap());
}

#[test]
fn a_log_far_from_what_was_said_of_the_place_is_told() {
    let bench = with_places();
    log(&bench, "hot.csv", "2031-05-01", 20, 33.0);
    let said = bench.on("2031-06-01", "--json place log porch hot.csv").json();
    assert!(said["assumed"].to_string().contains("33 °C"), "{said}");
}

/// The fields of a test's answer; gives the answer back.
#[track_caller]
fn assayed(bench: &Bench, day: &str, line: &str, method: &str) -> Value {
    let ran = bench.on(day, &format!("--json assay {line}"));
    assert_eq!(ran.code, 0, "{ran:?}");
    let answer = ran.json();
    assert_eq!((answer["method"].as_str(), answer["day"].as_str()), (Some(method), Some(day)), "{answer}");
    assert!(answer["relative_sd"].as_f64().unwrap() > 0.0 && !answer["comment"].as_str().unwrap().is_empty());
    assert!(answer["strength"]["usual"]["value"].is_number(), "{answer}");
    assert_eq!(answer["g_per_l"].is_null(), answer["g_per_kg"].is_number(), "{answer}");
    let readings = &answer["readings"];
    assert_eq!(readings.is_null(), method == "figure", "{answer}");
    assert!(method == "figure" || readings["reading"]["test"] == method, "{answer}");
    answer
}

#[test]
fn every_test_tells_its_method_strength_error_comment_and_readings() {
    let bench = with_places();
    let day = "2031-03-10";
    for _ in 0..5 {
        peroxide(&bench, "--at cupboard --condition opened");
    }
    bench.on("2031-03-01", "receive hydrogen-peroxide \"35 % w/w\" 500mL --at cupboard").ok();
    bench.on("2031-03-01", "receive potassium-alum 1kg --at cupboard").ok();
    bench.on("2031-03-01", "receive bleach \"5.25 % w/w\" 1L --at cupboard --container opaque-plastic").ok();
    let answer = assayed(
        &bench,
        day,
        "HP-1 oxygen-volume --gas 49.5mL --sample 5mL --temp 22C --pressure \"95.0 kPa\"",
        "oxygen-volume",
    );
    near(answer["g_per_l"].as_f64().unwrap(), 25.35, 1e-3);
    assert_eq!(answer["readings"]["reading"]["gas_ml"], 49.5);
    assert_eq!(answer["readings"]["reading"]["pressure_kpa"], 95.0);
    let answer =
        assayed(&bench, day, "HP-2 permanganate --titre 35.28mL --of \"0.02 mol/L\" --sample 2mL", "permanganate");
    near(answer["g_per_l"].as_f64().unwrap(), 30.0, 1e-3);
    assert_eq!(answer["readings"]["reading"]["sample_ml"], 2.0);
    let answer = assayed(&bench, day, "HP-3 iodometric --titre 17.64mL --of \"0.1 mol/L\" --sample 1mL", "iodometric");
    near(answer["g_per_l"].as_f64().unwrap(), 30.0, 1e-3);
    let answer = assayed(&bench, day, "HP-4 strip 10mg/L --diluted 3000", "strip");
    let within = |field: &str| answer[field].as_f64().unwrap();
    assert!(within("low_g_per_l") < 30.0 && within("high_g_per_l") > 30.0, "{answer}");
    let answer = assayed(&bench, day, "HP-5 figure \"2.7 % w/v\" --sd 3%", "figure");
    assert_eq!((answer["g_per_l"].as_f64(), answer["relative_sd"].as_f64()), (Some(27.0), Some(0.03)));
    let answer = assayed(&bench, day, "HP-6 density 1.131g/mL --temp 20C", "density");
    near(answer["g_per_l"].as_f64().unwrap(), 391.0, 0.01);
    let answer = assayed(&bench, day, "PA-1 drying --wet 50g --dry 47.5g", "drying");
    near(answer["g_per_kg"].as_f64().unwrap(), 990.0 * 0.95, 1e-5);
    let answer = assayed(&bench, day, "BL-1 iodometric --titre 14.2mL --of \"0.1 mol/L\" --sample 1mL", "iodometric");
    // Half a mole of hypochlorite for each of thiosulfate: 52.85 g/L.
    near(answer["g_per_l"].as_f64().unwrap(), 52.85, 1e-3);
    let answer = assayed(&bench, day, "BL-1 strip 5mg/L --diluted 10000", "strip");
    assert!(answer["low_g_per_l"].as_f64().unwrap() < 52.0 && answer["high_g_per_l"].as_f64().unwrap() > 52.0);
    // The journal keeps it.
    let shown = bench.on(day, "--json show HP-1").json();
    assert_eq!(shown["journal"][1]["event"], "assayed");
}

#[test]
fn units_of_readings_do_not_matter() {
    let lines = [
        [
            "oxygen-volume --gas 50mL --sample 5mL --temp 20C --pressure \"1013.25 hPa\" --column 5cm",
            "oxygen-volume --gas 0.05L --sample 0.005L --temp 68F --pressure \"760 mmHg\" --column 50mm",
        ],
        [
            "permanganate --titre 35mL --of \"0.02 mol/L\" --sample 2mL",
            "permanganate --titre 0.035L --of \"0.1 N\" --sample 2mL",
        ],
        [
            "iodometric --titre 18mL --of \"0.1 mol/L\" --sample 1mL --diluted 10mL:250mL",
            "iodometric --titre 18mL --of \"0.1 N\" --sample 1mL --diluted 25",
        ],
        ["strip 10mg/L --diluted 3000", "strip 10ppm --diluted 1:3000"],
    ];
    for pair in lines {
        let bench = with_places();
        peroxide(&bench, "--at cupboard --condition opened");
        peroxide(&bench, "--at cupboard --condition opened");
        let found = [0, 1].map(|i| {
            let answer = bench.on("2031-03-10", &format!("--json assay HP-{} {}", i + 1, pair[i])).json();
            (answer["g_per_l"].as_f64().unwrap(), band(&answer)[1])
        });
        near(found[0].0, found[1].0, 1e-4);
        near(found[0].1, found[1].1, 1e-4);
    }
}

#[test]
fn altitude_stands_for_the_pressure() {
    let bench = with_places();
    for _ in 0..3 {
        peroxide(&bench, "--at cupboard --condition opened");
    }
    let test = |code: &str, more: &str| {
        let line = format!("--json assay {code} oxygen-volume --gas 50mL --sample 5mL --temp 20C {more}");
        bench.on("2031-03-10", &line).json()["g_per_l"].as_f64().unwrap()
    };
    // 540 m: about 95.0 kPa.
    let high = test("HP-1", "--altitude 540m");
    near(test("HP-2", "--pressure \"95.0 kPa\""), high, 1e-3);
    assert!(test("HP-3", "--altitude 540m --sea-level \"990 hPa\"") < high);
}

#[test]
fn a_block_of_a_strip_is_an_interval_and_the_darkest_a_bound() {
    let bench = with_places();
    for _ in 0..4 {
        peroxide(&bench, "--at cupboard --condition opened");
    }
    let day = "2031-03-10";
    let block = bench.on(day, "--json assay HP-1 strip 30mg/L --diluted 1000 --scale 1,3,10,30,100").json();
    let field = |answer: &Value, field: &str| answer[field].as_f64();
    // The middles, by logarithm, between 10, 30 and 100.
    near(field(&block, "low_g_per_l").unwrap(), 17.32, 1e-3);
    near(field(&block, "high_g_per_l").unwrap(), 54.77, 1e-3);
    for (code, reading) in [("HP-2", "25mg/L"), ("HP-3", "\">25mg/L\"")] {
        let answer = bench.on(day, &format!("--json assay {code} strip {reading} --diluted 100")).json();
        assert!(field(&answer, "low_g_per_l").unwrap() <= 2.5 && field(&answer, "high_g_per_l").is_none(), "{answer}");
        let comment = answer["comment"].as_str().unwrap();
        assert!(comment.contains("thin it about 300 times"), "{comment}");
        // A bound far below tells nothing.
        near(band(&answer)[1], 30.0, 0.05);
    }
    // A bound above what was believed moves it up.
    let before = median(&bench, day, "HP-4");
    let answer = bench.on(day, "--json assay HP-4 strip \">25mg/L\" --diluted 1300").json();
    assert!(band(&answer)[1] > before, "{answer}");
}

#[test]
fn the_palest_block_is_a_bound_from_above() {
    let bench = with_places();
    bench.on("2031-03-01", "receive hydrogen-peroxide \"3 % w/v\" 500mL --at cupboard --condition dirty").ok();
    let ran = bench.on("2031-09-01", "--json assay HP-1 strip 0mg/L --diluted 1000");
    assert_eq!(ran.code, 0, "{ran:?}");
    let answer = ran.json();
    assert!(answer["low_g_per_l"].is_null() && answer["high_g_per_l"].as_f64().unwrap() < 1.0, "{answer}");
    assert!(band(&answer)[1] < 5.0, "{answer}");
}

#[test]
fn a_strip_off_its_scale_says_dilute_and_repeat() {
    let bench = with_places();
    peroxide(&bench, "--at cupboard --condition opened");
    let before = fs::read(bench.register()).unwrap();
    let day = "2031-03-10";
    bench.on(day, "assay HP-1 strip 50mg/L --diluted 1000").fails(2, &["50mg/L", "25 mg/L", "dilute", "repeat"]);
    bench.on(day, "assay HP-1 strip 7mg/L --diluted 1000").fails(2, &["7mg/L", "0.5, 2, 5, 10, 25"]);
    bench.on(day, "assay HP-1 strip \">10mg/L\" --diluted 1000").fails(2, &[">10mg/L"]);
    assert_eq!(before, fs::read(bench.register()).unwrap());
}

#[test]
fn density_is_refused_for_three_per_cent_and_accepted_for_thirty_five() {
    let bench = with_places();
    peroxide(&bench, "--at cupboard");
    bench.on("2031-03-01", "receive hydrogen-peroxide \"35 % w/w\" 500mL --at cupboard").ok();
    let before = fs::read(bench.register()).unwrap();
    bench.on("2031-03-10", "assay HP-1 density 1.0095 --temp 20C").fails(2, &["density", "worthless", "g/mL"]);
    assert_eq!(before, fs::read(bench.register()).unwrap());
    let answer = bench.on("2031-03-10", "--json assay HP-2 density 1.131 --temp 20C").json();
    assert!(answer["relative_sd"].as_f64().unwrap() < 0.02, "{answer}");
    near(answer["strength"]["usual"]["value"].as_f64().unwrap(), 34.6, 0.01);
}

#[test]
fn a_wild_test_is_kept_and_questioned_and_waits_for_another() {
    let bench = with_places();
    peroxide(&bench, "--at cupboard");
    let before = band(&check(&bench, "2031-03-10", "HP-1"))[1];
    let answer = bench.on("2031-03-10", "--json assay HP-1 figure \"9 % w/v\" --sd 3%").json();
    let comment = answer["comment"].as_str().unwrap();
    assert!(comment.contains("far higher") && comment.contains("kept"), "{comment}");
    near(band(&answer)[1], before, 0.02);
    assert_eq!(bench.on("2031-03-10", "--json show HP-1").json()["journal"].as_array().unwrap().len(), 2);
    let dose = bench.on("2031-03-10", "--json dose peroxide-weak --bath 2L");
    assert_eq!((dose.code, dose.json()["verdict"].as_str()), (1, Some("test first")));
    // A second one that agrees with it sets the label aside.
    let answer = bench.on("2031-03-11", "--json assay HP-1 figure \"8.9 % w/v\" --sd 3%").json();
    near(band(&answer)[1], 89.5, 0.02);
    assert_eq!(bench.on("2031-03-11", "dose peroxide-weak --bath 2L").code, 0);
    // Taken back, both, the label holds again.
    bench.on("2031-03-12", "correct HP-1 2 --never --because \"another bottle\"").ok();
    bench.on("2031-03-12", "correct HP-1 3 --never --because \"another bottle\"").ok();
    near(median(&bench, "2031-03-10", "HP-1"), before, 1e-9);
    assert_eq!(bench.on("2031-03-10", "dose peroxide-weak --bath 2L").code, 0);
}

#[test]
fn two_tests_of_one_day_in_either_order_give_the_same_strength() {
    let bench = with_places();
    peroxide(&bench, "--at cupboard --condition opened");
    peroxide(&bench, "--at cupboard --condition opened");
    let tests = [
        "figure \"2.6 % w/v\" --sd 4%",
        "strip 10mg/L --diluted 3000",
        "oxygen-volume --gas 51mL --sample 5mL --temp 20C --altitude 0m",
    ];
    for test in tests {
        bench.on("2031-05-01", &format!("assay HP-1 {test}")).ok();
    }
    for test in tests.iter().rev() {
        bench.on("2031-05-01", &format!("assay HP-2 {test}")).ok();
    }
    for day in ["2031-05-01", "2031-09-01"] {
        let (a, b) = (band(&check(&bench, day, "HP-1")), band(&check(&bench, day, "HP-2")));
        for (a, b) in a.into_iter().zip(b) {
            near(a, b, 1e-4);
        }
    }
}

#[test]
fn a_test_entered_late_counts_on_its_own_day() {
    let bench = with_places();
    peroxide(&bench, "--at cupboard --condition opened");
    peroxide(&bench, "--at cupboard --condition opened");
    bench.on("2031-05-01", "assay HP-1 figure \"2.6 % w/v\" --sd 4%").ok();
    bench.on("2031-07-01", "assay HP-1 figure \"2.4 % w/v\" --sd 4%").ok();
    bench.on("2031-07-01", "assay HP-2 figure \"2.4 % w/v\" --sd 4%").ok();
    bench.on("2031-07-01", "assay HP-2 figure \"2.6 % w/v\" --sd 4% --date 2031-05-01").ok();
    let (a, b) = (band(&check(&bench, "2031-08-01", "HP-1")), band(&check(&bench, "2031-08-01", "HP-2")));
    for (a, b) in a.into_iter().zip(b) {
        near(a, b, 1e-4);
    }
}

#[test]
fn a_tighter_test_leaves_a_narrower_band() {
    let bench = with_places();
    for _ in 0..3 {
        peroxide(&bench, "--at cupboard --condition opened");
    }
    for (code, sd) in [("HP-1", "10%"), ("HP-2", "5%"), ("HP-3", "0.02")] {
        bench.on("2031-05-01", &format!("assay {code} figure \"2.9 % w/v\" --sd {sd}")).ok();
    }
    let [loose, fair, tight] = ["HP-1", "HP-2", "HP-3"].map(|code| width(&check(&bench, "2031-05-01", code)));
    assert!(tight < fair && fair < loose, "{tight} {fair} {loose}");
}

/// The plan for a test; its texts say cautions before steps.
#[track_caller]
fn plan(bench: &Bench, line: &str) -> Value {
    let ran = bench.on("2031-05-01", &format!("--json assay plan {line}"));
    assert_eq!(ran.code, 0, "{ran:?}");
    let answer = ran.json();
    for list in ["cautions", "needs", "steps"] {
        assert!(!answer[list].as_array().unwrap().is_empty(), "{list}: {answer}");
    }
    assert!(answer["relative_sd"].as_f64().unwrap() > 0.0);
    let text = bench.on("2031-05-01", &format!("assay plan {line}")).ok();
    let at = |list: &str| {
        let first: String = answer[list][0].as_str().unwrap().split(' ').take(3).collect::<Vec<_>>().join(" ");
        text.find(&first).unwrap_or_else(|| panic!("`{first}` is missing: {text}"))
    };
    assert!(at("cautions") < at("needs") && at("needs") < at("steps"), "{text}");
    answer
}

#[test]
fn a_plan_tells_cautions_first_and_what_will_be_read() {
    let bench = with_places();
    peroxide(&bench, "--at cupboard --made unknown");
    let [low, mid, high] = band(&check(&bench, "2031-05-01", "HP-1"));
    for (by, number) in [("oxygen-volume", "--gas …mL"), ("permanganate", "--titre …mL"), ("iodometric", "--titre …mL")]
    {
        let answer = plan(&bench, &format!("HP-1 --by {by}"));
        assert_eq!(answer["test"], by);
        let expected = &answer["expected"];
        assert_eq!(expected["unit"], "mL");
        let value = |field: &str| expected[field].as_f64().unwrap();
        near(value("low") / value("value"), low / mid, 1e-3);
        near(value("high") / value("value"), high / mid, 1e-3);
        // Typed with what is expected, the plan's own last line gives what is believed.
        let step = answer["steps"].as_array().unwrap().last().unwrap().as_str().unwrap();
        let line = step.split('`').nth(1).unwrap().trim_start_matches("brimstock ");
        let line = line
            .replace(number, &number.replace('…', &expected["value"].to_string()))
            .replace("--temp …C", "--temp 20C")
            .replace("--altitude …m", "--altitude 0m");
        let copy = with_places();
        peroxide(&copy, "--at cupboard --made unknown");
        let found = copy.on("2031-05-01", &format!("--json {line}")).json();
        near(found["g_per_l"].as_f64().unwrap(), mid, 2e-3);
    }
    let answer = plan(&bench, "HP-1 --by strip --scale 1,3,10,30,100");
    let expected = answer["expected"]["value"].as_f64().unwrap();
    assert!((5.5..18.5).contains(&expected), "mid-scale: {answer}");
    assert!(answer["sd_ln_after"].as_f64().unwrap() < answer["sd_ln_now"].as_f64().unwrap());
}

#[test]
fn the_plan_is_the_cheapest_test_that_suits() {
    let bench = with_places();
    peroxide(&bench, "--at cupboard --made unknown");
    bench.on("2031-03-01", "receive hydrogen-peroxide \"35 % w/w\" 500mL --at cupboard --made unknown").ok();
    bench.on("2031-03-01", "receive potassium-alum 1kg --at cupboard").ok();
    bench.on("2031-03-01", "receive bleach \"5.25 % w/w\" 1L --at cupboard --made unknown").ok();
    bench.on("2031-03-01", "receive bleach \"1 g/L\" 1L --at cupboard --condition dirty").ok();
    assert_eq!(plan(&bench, "HP-1")["test"], "oxygen-volume");
    assert_eq!(plan(&bench, "HP-2")["test"], "density");
    assert_eq!(plan(&bench, "PA-1")["test"], "drying");
    for code in ["BL-1", "BL-2"] {
        let answer = plan(&bench, code);
        assert!(["iodometric", "strip"].contains(&answer["test"].as_str().unwrap()), "{answer}");
        let others = answer["other_tests"].to_string();
        assert!(!others.contains("oxygen-volume") && !others.contains("permanganate"), "{answer}");
    }
    // The code may stand before the word too.
    assert_eq!(bench.on("2031-05-01", "--json assay HP-1 plan").json()["test"], "oxygen-volume");
    // What a test would settle is what is `test first` now.
    assert!(plan(&bench, "HP-1")["settles"].to_string().contains("peroxide-weak"));
}

#[test]
fn a_plan_by_a_test_that_does_not_suit_is_refused() {
    let bench = with_places();
    peroxide(&bench, "--at cupboard");
    bench.on("2031-03-01", "receive bleach \"5.25 % w/w\" 1L --at cupboard").ok();
    bench.on("2031-03-01", "receive potassium-alum 1kg --at cupboard").ok();
    let day = "2031-05-01";
    for line in [
        "HP-1 --by drying",
        "HP-1 --by density",
        "BL-1 --by oxygen-volume",
        "BL-1 --by permanganate",
        "PA-1 --by strip",
    ] {
        let (code, _) = line.split_once(' ').unwrap();
        bench.on(day, &format!("assay plan {line}")).fails(2, &["is no test", &format!("assay plan {code}")]);
    }
    bench.on(day, "assay plan HP-1 --by nose").fails(2, &["nose", "oxygen-volume", "drying"]);
    bench.on(day, "assay plan HP-1 --by strip --scale 10,5").fails(2, &["--scale", "10,5", "rising"]);
    bench.on(day, "assay plan HP-9").fails(2, &["HP-9"]);
    bench.on(day, "assay plan").fails(2, &["which stock"]);
}

#[test]
fn check_tells_what_moves_a_strength_and_what_a_test_would_do() {
    let bench = with_places();
    peroxide(&bench, "--at sill --container clear-glass");
    let answer = check(&bench, "2031-06-01", "HP-1");
    let shares: Vec<f64> =
        answer["moved_by"].as_array().unwrap().iter().map(|mover| mover["share"].as_f64().unwrap().abs()).collect();
    assert!(shares.len() >= 3 && shares.windows(2).all(|pair| pair[0] >= pair[1]), "most first: {answer}");
    for what in ["light", "age", "unknown start"] {
        assert!(share(&answer, what) > 0.0, "{what}: {answer}");
    }
    let test = &answer["test"];
    assert!(test["name"].is_string(), "{answer}");
    assert!(test["half_width_after"].as_f64().unwrap() < test["half_width_now"].as_f64().unwrap());
    assert!(answer["dirt"].is_null(), "no test, nothing to say of dirt: {answer}");
    assert!(answer.get("places").is_none() && answer.get("chart").is_none());
    assert!(answer["dips"].as_array().unwrap().iter().all(|dip| dip["verdict"].is_string()));
    bench.on("2031-06-01", "assay HP-1 permanganate --titre 30mL --of \"0.02 mol/L\" --sample 2mL").ok();
    let after = check(&bench, "2031-06-02", "HP-1");
    assert_eq!(after["moved_by"][0]["what"], "last test", "{after}");
    assert!(width(&after) < width(&answer));
}

#[test]
fn where_it_would_last_longest_stands_first() {
    let bench = with_places();
    bench.on("2030-01-01", "place add attic --summer 35 --winter 15").ok();
    peroxide(&bench, "--at sill --container clear-glass --condition opened");
    let ran = bench.on("2031-03-15", "--json check HP-1 --where");
    let answer = ran.json();
    let places = answer["places"].as_array().unwrap();
    let names: Vec<&str> = places.iter().map(|place| place["place"].as_str().unwrap()).collect();
    assert_eq!(names, ["porch", "cupboard", "attic", "sill"], "{answer}");
    let values: Vec<f64> = places.iter().map(|place| place["usual"]["value"].as_f64().unwrap()).collect();
    assert!(values.windows(2).all(|pair| pair[0] >= pair[1]), "{values:?}");
    assert_eq!(places.iter().filter(|place| place["here"] == true).count(), 1);
    assert_eq!(places[3]["here"], true);
    assert!(bench.on("2031-03-15", "check HP-1 --where").stdout.contains("porch"));
    // Some things keep anywhere.
    bench.on("2031-03-01", "receive sodium-chloride 25kg --at cupboard").ok();
    bench.on("2031-03-15", "check SC-1 --where").ok();
}

#[test]
fn the_chart_has_days_tests_and_limits_in_one_unit() {
    let bench = with_places();
    peroxide(&bench, "--at cupboard --condition opened");
    bench.on("2031-05-01", "assay HP-1 figure \"2.8 % w/v\" --sd 3%").ok();
    bench.on("2031-05-20", "assay HP-1 strip 10mg/L --diluted 3000").ok();
    let answer = bench.on("2031-06-01", "--json check HP-1 --chart").json();
    let chart = &answer["chart"];
    assert_eq!(chart["unit"], "% w/v");
    let days = chart["days"].as_array().unwrap();
    let on: Vec<&str> = days.iter().map(|day| day["on"].as_str().unwrap()).collect();
    assert!(on.windows(2).all(|pair| pair[0] < pair[1]), "{on:?}");
    assert!(on[0] == "2031-03-01" && on.contains(&"2031-05-01") && on.contains(&"2031-06-01"), "{on:?}");
    assert!(*on.last().unwrap() > "2031-08-01", "it looks ahead: {on:?}");
    for day in days {
        let value = |field: &str| day[field].as_f64().unwrap();
        assert!(value("low") <= value("median") && value("median") <= value("high"), "{day}");
    }
    assert_eq!(chart["tests"].as_array().unwrap().len(), 2);
    assert_eq!(
        (chart["tests"][0]["on"].as_str(), chart["tests"][0]["median"].as_f64()),
        (Some("2031-05-01"), Some(2.8))
    );
    let limits = chart["limits"].as_array().unwrap();
    let weak = limits.iter().find(|limit| limit["dip"] == "peroxide-weak").unwrap_or_else(|| panic!("{chart}"));
    assert!(weak["needs"].as_f64().unwrap() > 0.0);
    let text = bench.on("2031-06-01", "check HP-1 --chart").stdout;
    assert!(text.contains("2031-03-01") && text.contains('x') && text.contains("% w/v"), "{text}");
}

#[test]
fn a_chart_of_a_bottle_that_came_today_is_drawn() {
    let bench = with_places();
    peroxide(&bench, "--at cupboard");
    let answer = bench.on("2031-03-01", "--json check HP-1 --chart --svg new.svg").json();
    assert!(answer["chart"]["days"].as_array().unwrap().len() > 10, "{answer}");
    assert!(bench.on("2031-03-01", "check HP-1 --chart").stdout.contains("2031-03-01"));
}

#[test]
fn a_drawing_is_written_and_no_other_file_is_written_over() {
    let bench = with_places();
    peroxide(&bench, "--at cupboard");
    let file = bench.folder().join("hp.svg");
    let ran = bench.on("2031-06-01", "check HP-1 --svg hp.svg");
    assert_eq!(ran.code, 0, "{ran:?}");
    let svg = fs::read_to_string(&file).unwrap();
    assert!(svg.starts_with("<svg") && svg.trim_end().ends_with("</svg>") && !svg.contains("NaN"), "{svg}");
    // Its own drawing may be drawn again.
    bench.on("2031-07-01", "check HP-1 --svg hp.svg").ok();
    assert_ne!(svg, fs::read_to_string(&file).unwrap());
    let letter = bench.folder().join("letter.txt");
    fs::write(&letter, "Dear aunt").unwrap();
    bench.on("2031-06-01", "check HP-1 --svg letter.txt").fails(4, &["letter.txt"]);
    assert_eq!(fs::read_to_string(&letter).unwrap(), "Dear aunt");
    let register = fs::read(bench.register()).unwrap();
    bench.on("2031-06-01", "check HP-1 --svg shelf.brimstock").fails(4, &["shelf.brimstock"]);
    assert_eq!(register, fs::read(bench.register()).unwrap());
    bench.on("2031-06-01", "check HP-1 --svg nowhere/hp.svg").fails(4, &["nowhere/hp.svg"]);
    bench.on("2031-06-01", "check HP-1 --svg .").fails(4, &[". cannot be written"]);
}

#[test]
fn why_gives_every_step_a_source_that_is_known() {
    let bench = with_places();
    log(&bench, "log.csv", "2031-03-01", 40, 24.0);
    peroxide(&bench, "--at sill --container clear-glass");
    peroxide(&bench, "--at sill --container natural-plastic --made unknown");
    peroxide(&bench, "--at cupboard --condition dirty --made 2030-06-01");
    bench.on("2031-03-01", "receive bleach \"8.25 % w/w\" 1L --at cupboard --container opaque-plastic").ok();
    bench
        .on("2031-03-01", "receive bleach \"1 g/L\" 1L --at sill --container natural-plastic --condition made-up")
        .ok();
    bench.on("2031-03-01", "receive potassium-permanganate \"75 g/L\" 1L --at porch --container amber-glass").ok();
    bench.on("2031-03-01", "receive potassium-alum 1kg --at cupboard").ok();
    bench.on("2031-03-01", "receive sodium-thiosulfate 1kg --at cupboard").ok();
    bench.on("2031-03-01", "receive sodium-percarbonate 1kg --at cupboard").ok();
    bench.on("2031-03-01", "receive sodium-chloride \"50 g/L\" 1L --at cupboard").ok();
    bench.on("2031-05-01", "place log cupboard log.csv").ok();
    bench.on("2031-05-01", "open HP-1").ok();
    bench.on("2031-05-01", "decant HP-1 100mL --water 300mL --tap").ok();
    bench.on("2031-05-01", "assay HP-3 strip 10mg/L --diluted 1000").ok();
    let shelf = bench.on("2031-06-01", "--json shelf").json();
    let codes: Vec<&str> = shelf["stocks"].as_array().unwrap().iter().map(|s| s["stock"].as_str().unwrap()).collect();
    assert_eq!(codes.len(), 11);
    let mut lines: Vec<String> = codes.iter().map(|code| format!("check {code}")).collect();
    lines.push("assay HP-2 oxygen-volume --gas 45mL --sample 5mL --temp 20C --altitude 0m".to_owned());
    lines.push("assay HP-2 permanganate --titre 30mL --of \"0.02 mol/L\" --sample 2mL".to_owned());
    lines.push("assay BL-1 iodometric --titre 20mL --of \"0.1 mol/L\" --sample 1mL".to_owned());
    lines.push("assay BL-1 strip 5mg/L --diluted 20000".to_owned());
    lines.push("assay PA-1 drying --wet 50g --dry 49.5g".to_owned());
    for line in lines {
        let ran = bench.on("2031-06-01", &format!("--json --why {line}"));
        assert!(ran.code <= 1, "{ran:?}");
        let answer = ran.json();
        let steps = answer["steps"].as_array().unwrap();
        assert!(!steps.is_empty(), "{line}");
        for step in steps {
            assert!(step["source"].as_str().is_some_and(|source| !source.is_empty()), "{line}: {step}");
            assert!(step["title"].is_string(), "{line}: a source that the catalogue does not know: {step}");
            let seen = step["seen"].as_str().unwrap_or_default();
            assert!(["found", "computed", "judged", "recalled"].contains(&seen), "{line}: {step}");
            assert_eq!(step["value"].is_null(), step["unit"].is_null(), "{line}: {step}");
        }
    }
    let text = bench.on("2031-06-01", "--why check HP-1").stdout;
    assert!(text.contains("register") && text.contains("judgement"), "{text}");
}

#[test]
fn bleach_labels_are_read_by_their_basis() {
    let bench = with_places();
    let labels = ["5.25 % w/w", "8.25 % w/w", "5 trade %", "50 g/L available chlorine", "5 % w/w available chlorine"];
    for label in labels {
        bench.on("2031-03-01", &format!("receive bleach \"{label}\" 1L --at cupboard --container opaque-plastic")).ok();
    }
    let [weak, strong, trade, litre, weight] =
        ["BL-1", "BL-2", "BL-3", "BL-4", "BL-5"].map(|code| check(&bench, "2031-03-01", code));
    let label = |answer: &Value| answer["strength"]["label_g_per_l"].as_f64().unwrap();
    // 74.44 g of hypochlorite for 70.91 g of chlorine; 5 trade per cent are 50 g of chlorine in a litre.
    near(label(&litre), 52.49, 1e-3);
    assert_eq!(label(&trade), label(&litre));
    assert_eq!(band(&trade), band(&litre));
    // 5 % w/w of chlorine are 5.249 % w/w of hypochlorite.
    near(label(&weight), label(&weak), 2e-3);
    near(label(&strong) / label(&weak), 8.25 / 5.25, 0.06);
    assert!(band(&weight)[1] > band(&litre)[1], "by weight it is more, for a litre weighs more than a kilogram");
    assert_eq!(litre["strength"]["usual"]["unit"], "g/L available chlorine");
    assert_eq!(trade["strength"]["usual"]["unit"], "trade % chlorine");
    // The stronger one loses more of itself.
    let left = |code: &str, now: &Value| median(&bench, "2031-09-01", code) / band(now)[1];
    assert!(left("BL-2", &strong) < left("BL-1", &weak));
}

#[test]
fn dilute_bleach_fades_faster_in_translucent_plastic() {
    let bench = with_places();
    bench.on("2030-01-01", "place add room --temp 20 --light bright").ok();
    for container in ["natural-plastic", "opaque-plastic"] {
        let line = "receive bleach \"1 g/L\" 1L --at room --condition made-up --container";
        bench.on("2031-03-01", &format!("{line} {container}")).ok();
    }
    let (milky, opaque) = (check(&bench, "2031-03-15", "BL-1"), check(&bench, "2031-03-15", "BL-2"));
    assert!(band(&milky)[1] < 0.95 * band(&opaque)[1], "{milky} {opaque}");
    assert_eq!(milky["moved_by"][0]["what"], "light");
    assert!(width(&milky) > width(&opaque));
}

#[test]
fn tests_of_a_bottle_that_fades_fast_speak_of_dirt() {
    let bench = with_places();
    peroxide(&bench, "--at cupboard --condition opened");
    peroxide(&bench, "--at cupboard --condition opened");
    bench.on("2031-03-02", "assay HP-1 figure \"3 % w/v\" --sd 2%").ok();
    bench.on("2031-03-02", "assay HP-2 figure \"3 % w/v\" --sd 2%").ok();
    let sound = bench.on("2031-05-01", "--json assay HP-2 figure \"2.97 % w/v\" --sd 2%").json();
    assert!(sound["dirt"].as_f64().unwrap() < 1.5, "{sound}");
    assert!(!sound["advice"].to_string().contains("contaminated"), "{sound}");
    let dirty = bench.on("2031-05-01", "--json assay HP-1 figure \"2.5 % w/v\" --sd 2%").json();
    assert!(dirty["dirt"].as_f64().unwrap() > 5.0, "{dirty}");
    assert!(dirty["advice"].to_string().contains("contaminated bottle"), "{dirty}");
    assert!(dirty["comment"].as_str().unwrap().contains("contaminated bottle"), "{dirty}");
    let later = check(&bench, "2031-05-02", "HP-1");
    assert!(later["advice"].to_string().contains("contaminated bottle"), "{later}");
    // It is expected to go on as it did.
    let left = |code: &str| median(&bench, "2031-07-01", code) / median(&bench, "2031-05-02", code);
    assert!(left("HP-1") < left("HP-2"));
}

#[test]
fn permanganate_in_a_cold_porch_is_as_strong_as_cold_water_can_hold() {
    let bench = with_places();
    bench.on("2031-03-01", "receive potassium-permanganate \"75 g/L\" 1L --at porch --container amber-glass").ok();
    bench.on("2031-03-01", "receive potassium-permanganate \"20 g/L\" 1L --at porch --container amber-glass").ok();
    let (over, under) = (check(&bench, "2031-03-15", "PP-1"), check(&bench, "2031-03-15", "PP-2"));
    // At 8 °C a litre of water holds 38 to 40 g, whatever was weighed in.
    assert!((38.0..40.0).contains(&band(&over)[1]), "{over}");
    near(band(&under)[1], 20.0, 0.06);
    peroxide(&bench, "--at cupboard");
    let ran = bench.on("2031-03-15", "--json dose permanganate-bulletin --bath 10L --from PP-1");
    assert_eq!((ran.code, ran.json()["verdict"].as_str()), (0, Some("ready")));
}

#[test]
fn permanganate_in_a_seasonal_porch_remembers_its_coldest_day() {
    let bench = with_places();
    bench.on("2030-01-01", "place add veranda --summer 24 --winter 6").ok();
    bench.on("2030-08-01", "receive potassium-permanganate \"60 g/L\" 1L --at veranda --container amber-glass").ok();
    peroxide(&bench, "--at cupboard");
    let summer = check(&bench, "2030-08-02", "PP-1");
    near(band(&summer)[1], 60.0, 0.06);
    let winter = check(&bench, "2031-01-15", "PP-1");
    assert!(band(&winter)[1] < 40.0, "{winter}");
    // In the warm some of it dissolves again, and nobody can tell how much.
    let warm = bench.on("2031-07-15", "--json dose permanganate-bulletin --bath 10L --from PP-1");
    assert_eq!((warm.code, warm.json()["verdict"].as_str()), (1, Some("test first")));
    assert!(warm.json()["reasons"].to_string().contains("crystals"), "{warm:?}");
}

#[test]
fn a_test_of_liquid_that_warmed_up_over_its_crystals_settles_it() {
    // Nothing dissolved again, about half of it, all of it: each is what was to be expected, and none of them is dirt.
    for found in ["35.5 g/L", "45 g/L", "57 g/L"] {
        let bench = with_places();
        bench.on("2030-01-01", "place add veranda --summer 24 --winter 6").ok();
        bench
            .on("2030-08-01", "receive potassium-permanganate \"60 g/L\" 1L --at veranda --container amber-glass")
            .ok();
        peroxide(&bench, "--at cupboard");
        let tested = bench.on("2031-07-15", &format!("--json assay PP-1 figure \"{found}\" --sd 3%")).json();
        let wanted: f64 = found.trim_end_matches(" g/L").parse().unwrap();
        near(band(&tested)[1], wanted, 0.05);
        assert!(!tested["comment"].as_str().unwrap().contains("contaminated"), "{found}: {tested}");
        let ran = bench.on("2031-07-15", "--json dose permanganate-bulletin --bath 10L --from PP-1");
        assert_eq!((ran.code, ran.json()["verdict"].as_str()), (0, Some("ready")), "{found}: {ran:?}");
    }
}

#[test]
fn permanganate_of_a_logged_cold_night_has_dropped_crystals() {
    let bench = with_places();
    bench.on("2031-03-01", "receive potassium-permanganate \"60 g/L\" 1L --at cupboard --container amber-glass").ok();
    peroxide(&bench, "--at cupboard");
    assert_eq!(bench.on("2031-04-01", "dose permanganate-bulletin --bath 10L --from PP-1").code, 0);
    let rows = "time,temperature\n2031-03-10 00:00,2\n2031-03-10 12:00,20\n2031-03-11 00:00,19\n2031-03-11 12:00,20\n";
    fs::write(bench.folder().join("cold.csv"), rows).unwrap();
    bench.on("2031-04-01", "place log cupboard cold.csv").ok();
    let ran = bench.on("2031-04-01", "--json dose permanganate-bulletin --bath 10L --from PP-1");
    assert!(ran.json()["reasons"].to_string().contains("crystals"), "{ran:?}");
}

#[test]
fn a_damp_solid_is_lighter_by_what_it_loses() {
    let bench = with_places();
    bench.on("2031-03-01", "receive potassium-alum 1kg --at cupboard --condition opened").ok();
    bench.on("2031-03-05", "note PA-1 damp").ok();
    let answer = bench.on("2031-03-10", "--json assay PA-1 drying --wet 50.0g --dry 45.0g").json();
    near(answer["g_per_kg"].as_f64().unwrap(), 891.0, 1e-3);
    let median = answer["strength"]["median_g_per_kg"].as_f64().unwrap();
    assert!((880.0..960.0).contains(&median), "{answer}");
    assert!(bench.on("2031-03-10", "--json show PA-1").json()["journal"].to_string().contains("damp"));
}

#[test]
fn the_day_of_the_question_sees_only_what_had_happened_by_then() {
    let bench = with_places();
    peroxide(&bench, "--at cupboard --condition opened");
    let before = band(&check(&bench, "2031-05-01", "HP-1"));
    bench.on("2031-06-01", "assay HP-1 figure \"2 % w/v\" --sd 3%").ok();
    bench.on("2031-06-01", "note HP-1 gassing").ok();
    assert_eq!(band(&check(&bench, "2031-05-01", "HP-1")), before);
    assert!(median(&bench, "2031-06-01", "HP-1") < before[1]);
}

#[test]
fn the_new_verbs_have_help_with_an_example() {
    let bench = Bench::bare();
    for words in [
        vec!["note"],
        vec!["decant"],
        vec!["place", "log"],
        vec!["assay"],
        vec!["assay", "plan"],
        vec!["assay", "HP-1", "oxygen-volume"],
        vec!["assay", "HP-1", "permanganate"],
        vec!["assay", "HP-1", "iodometric"],
        vec!["assay", "HP-1", "strip"],
        vec!["assay", "HP-1", "density"],
        vec!["assay", "HP-1", "drying"],
    ] {
        let line = [words.as_slice(), &["--help"]].concat();
        assert!(bench.run(&line).ok().contains("Example"), "{words:?}");
    }
}

#[test]
fn a_chart_of_a_nearly_empty_bottle_is_drawn_whatever_its_dips_would_need() {
    for (receive, code) in [
        ("bleach \"5.25 % w/w\" 100mL", "BL-1"),
        ("sodium-chloride \"3 % w/w\" 1L", "SC-1"),
        ("hydrogen-peroxide \"35 % w/w\" 5mL", "HP-1"),
    ] {
        let bench = with_places();
        bench.on("2031-03-01", &format!("receive {receive} --at cupboard --container opaque-plastic")).ok();
        for bath in ["10L", "500L"] {
            let ran = bench.on("2031-04-01", &format!("--json check {code} --chart --svg x.svg --bath {bath}"));
            assert!(ran.code <= 1, "{receive}, {bath}: {ran:?}");
            assert!(ran.json()["chart"]["days"].as_array().unwrap().len() > 10);
        }
    }
}

#[test]
fn a_strength_at_the_end_of_the_tables_is_taken_or_refused_and_never_hides_the_shelf() {
    for (receive, code, found) in [
        ("citric-acid \"30 % w/w\" 500mL", "CA-1", "30 % w/w"),
        ("citric-acid \"30 % w/w\" 500mL", "CA-1", "31 % w/w"),
        ("sodium-chloride \"400 g/L\" 1L", "SC-1", "300 g/L"),
        ("sodium-chloride \"26 % w/w\" 1L", "SC-1", "26 % w/w"),
        ("hydrogen-peroxide \"99 % w/w\" 1L", "HP-1", "99.5 % w/w"),
        ("bleach \"15 % w/w\" 1L", "BL-1", "16 % w/w"),
    ] {
        let bench = with_places();
        peroxide(&bench, "--at cupboard --code other");
        let entries = [
            format!("receive {receive} --at cupboard --container opaque-plastic"),
            format!("assay {code} figure \"{found}\" --sd 5%"),
        ];
        for entry in entries {
            let before = fs::read(bench.register()).unwrap();
            let ran = bench.on("2031-03-01", &entry);
            if ran.code != 0 {
                assert!(before == fs::read(bench.register()).unwrap(), "{entry} was refused and written: {ran:?}");
            }
            for line in ["shelf", "dose peroxide-rinse --bath 1L"] {
                let ran = bench.on("2031-03-01", line);
                assert!(ran.code <= 1, "after {entry}: {ran:?}");
            }
        }
    }
}

#[test]
fn a_reading_of_nothing_is_a_bound() {
    let bench = with_places();
    peroxide(&bench, "--at cupboard --condition dirty");
    for (test, most) in [
        ("oxygen-volume --gas 0mL --sample 5mL --temp 20C --altitude 0m", 1.5),
        ("permanganate --titre 0mL --of \"0.02 mol/L\" --sample 2mL", 0.3),
        ("strip \"<0.5mg/L\" --diluted 10", 0.1),
        ("strip 0mg/L --diluted 10", 0.1),
    ] {
        let answer = bench.on("2032-04-01", &format!("--json assay HP-1 {test}")).json();
        assert!(answer["g_per_l"].as_f64().unwrap() < most, "{test}: {answer}");
        assert!(answer.get("low_g_per_l").is_none() && answer["high_g_per_l"].is_f64(), "{test}: {answer}");
    }
    // A bottle that was dirty for a year and gives no gas is spent.
    let answer = check(&bench, "2032-04-02", "HP-1");
    assert!(band(&answer)[1] < 1.0, "{answer}");
    assert_ne!(bench.on("2032-04-02", "dose peroxide-weak --bath 2L").code, 0);
}

#[test]
fn a_slip_between_good_tests_moves_nothing() {
    let bench = with_places();
    peroxide(&bench, "--at cupboard");
    bench.on("2031-03-02", "assay HP-1 figure \"30 % w/v\" --sd 3%").ok();
    for day in ["2031-03-03", "2031-03-04", "2031-03-05"] {
        let answer = bench.on(day, "--json assay HP-1 figure \"2.9 % w/v\" --sd 3%").json();
        assert!(answer["comment"].as_str().unwrap().contains("within what was expected"), "{answer}");
    }
    near(median(&bench, "2031-03-06", "HP-1"), 29.3, 0.02);
    assert_eq!(bench.on("2031-03-06", "dose peroxide-weak --bath 2L").code, 0);
}

#[test]
fn what_makes_gas_or_brown_oxide_is_tested_first() {
    let bench = with_places();
    peroxide(&bench, "--at cupboard");
    bench.on("2031-03-05", "note HP-1 swollen").ok();
    let answer = bench.on("2031-03-05", "--json dose peroxide-weak --bath 2L").json();
    assert_eq!(answer["verdict"], "test first");
    assert!(answer["reasons"].to_string().contains("vented"), "{answer}");
    bench.on("2031-03-05", "note HP-1 damp").fails(2, &["solution"]);
    // Concentrated peroxide is left closed: nothing but a figure from elsewhere is planned.
    bench.on("2031-03-05", "receive hydrogen-peroxide \"70 % w/w\" 500mL --at cupboard").ok();
    assert_eq!(bench.on("2031-03-05", "--json assay plan HP-2").json()["test"], "figure");
    bench.on("2031-03-05", "assay plan HP-2 --by density").fails(2, &["density"]);
    bench.on("2031-03-05", "receive sodium-percarbonate 500g --at cupboard").ok();
    bench.on("2031-03-05", "assay PC-1 drying --wet 50g --dry 48g").fails(2, &["drying"]);
}

#[test]
fn a_solution_stronger_than_water_holds_is_as_strong_as_its_clear_liquid_from_the_first_day() {
    let bench = with_places();
    let said = bench.on("2031-03-01", "--json receive sodium-chloride \"400 g/L\" 1L --at cupboard").json();
    assert!(said["assumed"].to_string().contains("crystals"), "{said}");
    bench.on("2031-03-01", "receive potassium-permanganate \"200 g/L\" 1L --at cupboard").ok();
    // 26.4 % of salt by weight at 20 °C is 317 g/L; 6.0 % of permanganate 62 g/L.
    near(median(&bench, "2031-03-01", "SC-1"), 317.0, 0.01);
    near(median(&bench, "2031-03-01", "PP-1"), 62.0, 0.01);
    // Nearly saturated is no crystals, and the whole shelf answers.
    bench.on("2031-03-01", "receive sodium-chloride \"25 % w/w\" 1L --at cupboard").ok();
    near(median(&bench, "2031-03-01", "SC-2"), 297.0, 0.02);
    bench.on("2031-03-01", "shelf").ok();
    assert_eq!(bench.on("2031-03-01", "--json assay plan SC-2").code, 0);
    bench.on("2031-03-01", "assay plan HP-9").fails(2, &["no stock `HP-9`"]);
}
