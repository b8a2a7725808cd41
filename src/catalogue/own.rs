//! A keeper's own reagents: the same file as a shipped one, read beside them, every fault told at once.

use serde::de::DeserializeOwned;

use super::{
    Care, Carriage, Catalogue, CatalogueError, Classified, Contains, Decay, Form, Hazard, Keeping, Reagent, Regulated,
    Solid, Solution, TEXTS, TakenFor, Word, check, problem,
};

/// Keys that every file has.
const NEEDED: [&str; 7] = ["key", "name", "code", "cas", "formula", "forms", "decay"];

/// Keys that a file may have beside them.
const ALLOWED: [&str; 10] =
    ["also", "solid", "solution", "hazard", "carriage", "regulated", "keeping", "care", "contains", "taken_for"];

impl Catalogue {
    /// The shipped catalogue with a keeper's own reagents beside it, each text with the name of its file.
    ///
    /// # Errors
    /// The first fault of the first file that has one.
    pub fn with_own(own: &[(String, String)]) -> Result<Catalogue, CatalogueError> {
        let shipped = Catalogue::shipped()?;
        let mut codes: Vec<String> = Vec::new();
        for (file, text) in own {
            if let Some(first) = shipped.faults(file, text).into_iter().next() {
                return Err(first);
            }
            let code = super::parse::<Reagent>((file, text))?.code;
            if codes.contains(&code) {
                return Err(problem(file, "code", format!("`{code}` is taken by another file of yours")));
            }
            codes.push(code);
        }
        let own = own.iter().map(|(file, text)| (file.as_str(), text.as_str()));
        Catalogue::unchecked(TEXTS.reagents.iter().copied().chain(own))
    }

    /// Everything that is wrong with a keeper's file: first its shape, table by table, and once that is right its values.
    #[must_use]
    pub fn faults(&self, file: &str, text: &str) -> Vec<CatalogueError> {
        let table: toml::Table = match super::parse((file, text)) {
            Ok(table) => table,
            Err(error) => return vec![error],
        };
        let faults = shape(file, &table);
        if !faults.is_empty() {
            return faults;
        }
        match super::parse::<Reagent>((file, text)) {
            Ok(reagent) => self.values(file, &reagent),
            Err(error) => vec![error],
        }
    }

    fn values(&self, file: &str, reagent: &Reagent) -> Vec<CatalogueError> {
        let mut faults = check::reagent(file, reagent, self.every_source());
        faults.extend(check::named(file, reagent, self.statements(), self.elements()));
        if self.reagents.contains_key(&reagent.key) {
            faults.push(problem(file, "key", format!("`{}` is a reagent of the program's own", reagent.key)));
        }
        if let Some(other) = self.reagents().find(|other| other.code == reagent.code && other.key != reagent.key) {
            faults.push(problem(file, "code", format!("`{}` is taken by `{}`", reagent.code, other.key)));
        }
        faults.extend(check::cared_for(
            file,
            reagent,
            self.apart(),
            self.care_texts(),
            self.disposal(),
            self.every_source(),
        ));
        for other in reagent.taken_for.iter().filter_map(|taken| taken.reagent.as_ref()) {
            if !self.reagents.contains_key(other) {
                faults.push(problem(file, "taken_for.reagent", format!("no reagent `{other}`")));
            }
        }
        faults
    }
}

/// Missing, unknown and ill-shaped keys.
fn shape(file: &str, table: &toml::Table) -> Vec<CatalogueError> {
    let mut faults: Vec<CatalogueError> =
        NEEDED.iter().filter(|key| !table.contains_key(**key)).map(|key| problem(file, key, "is missing")).collect();
    for (key, value) in table {
        let each = || value.as_array().map_or(std::slice::from_ref(value), Vec::as_slice).iter().enumerate();
        let mut rows = |read: fn(&toml::Value) -> Option<String>| {
            faults.extend(each().filter_map(|(row, value)| {
                read(value).map(|what| problem(file, &format!("{key}[{}]", row + 1), what))
            }));
        };
        match key.as_str() {
            "decay" => rows(fault::<Decay>),
            "carriage" => rows(fault::<Carriage>),
            "regulated" => rows(fault::<Regulated>),
            "taken_for" => rows(fault::<TakenFor>),
            "hazard" => faults.extend(hazard(file, value)),
            "key" | "name" | "code" => faults.extend(whole::<String>(file, key, value)),
            "also" => faults.extend(whole::<Vec<String>>(file, key, value)),
            "cas" | "formula" => faults.extend(whole::<Word>(file, key, value)),
            "forms" => faults.extend(whole::<Vec<Form>>(file, key, value)),
            "solid" => faults.extend(whole::<Solid>(file, key, value)),
            "solution" => faults.extend(whole::<Solution>(file, key, value)),
            "keeping" => faults.extend(whole::<Keeping>(file, key, value)),
            "care" => faults.extend(whole::<Care>(file, key, value)),
            "contains" => faults.extend(whole::<Contains>(file, key, value)),
            _ => {
                let accepted: Vec<&str> = NEEDED.iter().chain(&ALLOWED).copied().collect();
                faults.push(problem(file, key, format!("is no key; accepted: {}", accepted.join(", "))));
            }
        }
    }
    faults
}

/// The hazard table without its classes, and each class by itself.
fn hazard(file: &str, value: &toml::Value) -> Vec<CatalogueError> {
    let Some(table) = value.as_table() else { return vec![problem(file, "hazard", "a table is wanted")] };
    let mut bare = table.clone();
    let classes = bare.remove("class");
    let mut faults: Vec<CatalogueError> =
        whole::<Hazard>(file, "hazard", &toml::Value::Table(bare)).into_iter().collect();
    for (row, class) in classes.iter().filter_map(toml::Value::as_array).flatten().enumerate() {
        faults.extend(whole::<Classified>(file, &format!("hazard.class[{}]", row + 1), class));
    }
    faults
}

fn whole<T: DeserializeOwned>(file: &str, key: &str, value: &toml::Value) -> Option<CatalogueError> {
    fault::<T>(value).map(|what| problem(file, key, what))
}

/// Why a value has not the shape that is wanted, if it has not.
fn fault<T: DeserializeOwned>(value: &toml::Value) -> Option<String> {
    value.clone().try_into::<T>().err().map(|error| error.message().trim().replace('\n', " "))
}
