//! The reference circuits, written out as guitar files so that the file's reading is checked with them.

use drywire::document::Document;
use drywire::guitar::Guitar;
use num_complex::Complex64;
use serde_json::Value;

pub struct Reference {
    pub arrangement: String,
    pub guitar: Guitar,
    /// The same guitar, its pickup like a built-in one whose every value is stated otherwise; where all have a loss.
    pub like: Option<Guitar>,
    pub frequency_hz: Vec<f64>,
    pub from_coil_a: Vec<Complex64>,
    pub from_coil_b: Vec<Complex64>,
    pub dc_at_jack_ohm: f64,
}

pub fn references() -> Vec<Reference> {
    let text = std::fs::read_to_string("tests/data/circuits.json").expect("reference data");
    let json: Value = serde_json::from_str(&text).expect("JSON");
    json["circuits"].as_array().expect("circuits").iter().map(reference).collect()
}

fn reference(circuit: &Value) -> Reference {
    let read = |like: &str| {
        let text = guitar_file(circuit, like);
        Guitar::read(&Document::new("reference", text.clone())).unwrap_or_else(|e| panic!("{e}\n{text}"))
    };
    let have_loss = circuit["coils"].as_array().unwrap().iter().all(|coil| coil["loss_ohm"].is_number());
    let numbers =
        |v: &Value| -> Vec<f64> { v.as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect() };
    let complex = |key: &str| -> Vec<Complex64> {
        let pairs = circuit[key].as_array().unwrap().iter().map(numbers);
        pairs.map(|p| Complex64::new(p[0], p[1])).collect()
    };
    Reference {
        arrangement: circuit["arrangement"].as_str().unwrap().to_owned(),
        guitar: read(""),
        like: have_loss.then(|| read("like = \"vintage-full-size\"\n")),
        frequency_hz: numbers(&circuit["frequency_hz"]),
        from_coil_a: complex("from_coil_a"),
        from_coil_b: complex("from_coil_b"),
        dc_at_jack_ohm: circuit["dc_at_jack_ohm"].as_f64().unwrap(),
    }
}

fn guitar_file(circuit: &Value, like: &str) -> String {
    let number = |v: &Value| v.as_f64().map(|x| format!("\"{x:e}\""));
    let mut text = format!(
        "format = 1\n[[pickup]]\nname = \"p\"\n{like}coupling = {}\n",
        number(&circuit["coupling"]).unwrap()
    );
    if let Some(bypass) = number(&circuit["bypass_f"]) {
        text += &format!("bypass = {bypass}\n");
    }
    for (name, coil) in ["coil_a", "coil_b"].into_iter().zip(circuit["coils"].as_array().unwrap()) {
        text += &format!("[pickup.{name}]\n");
        for (key, field) in [
            ("resistance", "resistance_ohm"),
            ("inductance", "inductance_h"),
            ("capacitance", "capacitance_f"),
            ("loss", "loss_ohm"),
            ("eddy_share", "eddy_share"),
            ("eddy_corner", "eddy_corner_hz"),
        ] {
            if let Some(value) = number(&coil[field]) {
                text += &format!("{key} = {value}\n");
            }
        }
    }
    let load = &circuit["load"];
    let knob = |key: &str| format!("\"linear\", turned = {}", 10.0 * load[key].as_f64().unwrap());
    text += &format!(
        "[controls]\nvolume = {{ pot = {}, taper = {} }}\n",
        number(&load["volume_pot_ohm"]).unwrap(),
        knob("volume_fraction")
    );
    if let Some(pot) = number(&load["tone_pot_ohm"]) {
        let capacitor = number(&load["tone_cap_f"]).unwrap();
        text += &format!(
            "tone = {{ pot = {pot}, taper = {}, capacitor = {capacitor} }}\n",
            knob("tone_fraction")
        );
    }
    if let Some(capacitor) = number(&load["bleed_cap_f"]) {
        let resistor = number(&load["bleed_ohm"]).unwrap();
        text += &match load["bleed_topology"].as_str().unwrap() {
            "cap" => format!("bleed = {{ capacitor = {capacitor} }}\n"),
            joined => {
                format!(
                    "bleed = {{ capacitor = {capacitor}, resistor = {resistor}, joined = \"{joined}\" }}\n"
                )
            }
        };
    }
    text += &format!("[cable]\ntotal = {}\n", number(&load["cable_f"]).unwrap());
    let (resistance, capacitance) = (number(&load["input_ohm"]).unwrap(), number(&load["input_f"]).unwrap());
    text + &format!("[input]\nresistance = {resistance}\ncapacitance = {capacitance}\n")
}
