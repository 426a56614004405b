//! How people call what a column holds, and how a name is compared whatever way it is written.

/// Names that people give to a quantity, in letters and digits alone, besides the quantity's own name.
const SYNONYMS: [(&str, &[&str]); 22] = [
    ("sex", &["gender", "sexe", "geschlecht", "sexo"]),
    ("age", &["ageyears", "ageatinterview", "alter", "alterjahre", "lebensalter", "edad"]),
    ("ancestry", &["ethnicity", "race", "ancestrygroup", "ethnicgroup"]),
    (
        "glucose",
        &[
            "fpg",
            "fbg",
            "glu",
            "gluc",
            "glc",
            "fastingglucose",
            "plasmaglucose",
            "bloodsugar",
            "lbxglu",
            "glukose",
            "plasmaglukose",
            "nuechternglukose",
            "nuechternglucose",
            "nuchternglukose",
            "nuechternplasmaglukose",
            "nuechternblutzucker",
            "nuechternzucker",
            "blutzucker",
        ],
    ),
    (
        "insulin",
        &["ins", "fastinginsulin", "seruminsulin", "fi", "lbxin", "nuechterninsulin", "nuchterninsulin"],
    ),
    ("glucose_2h", &["glucose2h", "2hglucose", "2hpg", "ogtt2h", "glu2h", "lbxglt"]),
    ("triglycerides", &["tg", "trig", "trigs", "trigly", "triglyceride", "triglyzeride", "lbxtr"]),
    ("hdl", &["hdlc", "hdlcholesterol", "hdlcholesterin", "hdlchol", "lbdhdd"]),
    ("ldl", &["ldlc", "ldlcholesterol", "ldlcholesterin"]),
    ("total_cholesterol", &["tc", "chol", "cholesterol", "totalchol", "cholesterin", "gesamtcholesterin"]),
    ("a1c", &["hba1c", "hemoglobina1c", "haemoglobina1c", "glycatedhaemoglobin", "lbxgh"]),
    ("bmi", &["bodymassindex", "bmxbmi"]),
    ("waist", &["wc", "waistcircumference", "waistcirc", "bmxwaist", "bauchumfang", "taillenumfang"]),
    (
        "body_weight",
        &["weight", "weightkg", "wt", "wtkg", "bodyweight", "bodymass", "gewicht", "koerpergewicht"],
    ),
    ("height", &["heightcm", "stature", "standingheight", "groesse", "koerpergroesse"]),
    ("systolic", &["sbp", "systolicbp", "sys", "systolicbloodpressure", "systolisch"]),
    ("diastolic", &["dbp", "diastolicbp", "dia", "diastolicbloodpressure", "diastolisch"]),
    ("fasting", &["fastinghours", "hoursfasted", "fasthours", "fastingtime", "fast"]),
    ("pregnant", &["preg", "pregnancy", "schwanger"]),
    ("diagnosed_diabetes", &["diabetes", "dm", "diabetestold", "t2d", "diabetic", "knowndiabetes"]),
    ("blood_pressure_drug", &["bpdrug", "antihypertensive", "hypertensiondrug", "bpmeds"]),
    ("lipid_drug", &["statin", "lipidlowering", "cholesteroldrug"]),
];

/// Words around a name that say nothing of the quantity.
const FILLERS: [&str; 9] =
    ["fasting", "plasma", "serum", "blood", "baseline", "value", "level", "mean", "nuechtern"];

/// Letters that are also written as two, and those two.
const UMLAUTS: [(char, &str); 4] = [('ä', "ae"), ('ö', "oe"), ('ü', "ue"), ('ß', "ss")];

/// Names that people give to a quantity, besides its own.
pub(super) fn synonyms(quantity: &str) -> &'static [&'static str] {
    SYNONYMS.iter().find(|(name, _)| *name == quantity).map_or(&[], |(_, names)| *names)
}

/// The quantity that people also give this name.
pub(super) fn called_otherwise(name: &str) -> Option<&'static str> {
    let written = squeezed(name);
    let meant = |(quantity, names): &&(&'static str, &[&str])| {
        names.contains(&written.as_str()) || squeezed(quantity) == written
    };
    SYNONYMS.iter().find(meant).map(|(quantity, _)| *quantity)
}

/// Letters and digits of a name, in lower case and without umlauts.
pub(super) fn squeezed(name: &str) -> String {
    lower(name).chars().filter(|c| c.is_alphanumeric()).collect()
}

/// Lower case, umlauts as the two letters that also stand for them.
pub(super) fn lower(text: &str) -> String {
    UMLAUTS.iter().fold(text.to_lowercase(), |text, (umlaut, letters)| text.replace(*umlaut, letters))
}

/// A name without words that say nothing.
pub(super) fn bare(name: &str) -> String {
    let words = name.split(|c: char| !c.is_alphanumeric()).map(lower);
    words.filter(|word| !FILLERS.contains(&word.as_str())).collect()
}
