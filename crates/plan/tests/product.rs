//! The product check on whole lists. The lists are made up, in the styles that packets and makers' pages have.

use std::collections::BTreeSet;
use std::sync::OnceLock;

use plan::atlas::{Atlas, Ingredient};
use plan::product::{Asked, Judged, Limit, MOST_CHARS, Product};
use plan::screening::{Answer, Answers, Cleared, Own};
use proptest::prelude::*;
use vocab::{Class, Date};

fn atlas() -> &'static Atlas {
    static ATLAS: OnceLock<Atlas> = OnceLock::new();
    ATLAS.get_or_init(Atlas::built_in)
}

/// The ingredients found, in order, without doubles.
fn found(atlas: &Atlas, list: &str) -> Vec<String> {
    let mut names = Vec::new();
    for f in Product::read(atlas, list).found {
        let name = atlas.ingredients[f.ingredient].name.clone();
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names
}

fn check(list: &str, expected: &[&str]) {
    assert_eq!(found(&atlas(), list), expected, "{list}");
}

fn day(text: &str) -> Date {
    Date::parse(text).expect("a day")
}

const CREAM: &str = "Ingredients: Aqua, Prunus Amygdalus Dulcis (Sweet Almond) Oil, Glycerin, Parfum (Fragrance), Limonene, \
                     Linalool, Citral.";
const CREAM_FOUND: [&str; 5] = ["Prunus Amygdalus Dulcis Oil", "Parfum", "Limonene", "Linalool", "Citral"];

#[test]
fn lists_in_every_style_are_read() {
    check(CREAM, &CREAM_FOUND);
    // Capitals, no blanks after commas, a number with a comma within.
    check(
        "INCI:AQUA,1,2-HEXANEDIOL,COCOS NUCIFERA OIL,LAVANDULA ANGUSTIFOLIA OIL,GERANIOL,CI 77891",
        &["Cocos Nucifera Oil", "Lavandula Oil/Extract", "Lavandula Angustifolia Oil", "Geraniol"],
    );
    // Semicolons and percents.
    check(
        "simmondsia chinensis seed oil 80 %; tocopherol 1,5%; rosmarinus officinalis leaf oil 0.4 %; <0.1 % limonene",
        &["Rosmarinus Officinalis Leaf Oil", "Limonene"],
    );
    // Bullets.
    check(
        "• Squalane • Corylus Avellana (Hazelnut) Seed Oil • Rosa Damascena Flower Oil* • Citronellol** • Eugenol**",
        &["Corylus Avellana Seed Oil", "Rose Flower Oil/Extract", "Citronellol", "Eugenol"],
    );
    // One name a line.
    check(
        "Squalane\nArgan Oil\nTea Tree Oil\nBeeswax\n",
        &["Argania Spinosa Kernel Oil", "Melaleuca Alternifolia Leaf Oil", "Cera Alba"],
    );
    // Names that run over a line's end, hyphenated and not.
    check(
        "Aqua, Cetearyl Alcohol, Benzyl\nAlcohol, Alpha-\nIsomethyl Ionone, Hydroxy-\ncitronellal, Sorbitol",
        &["Benzyl Alcohol", "Alpha-Isomethyl Ionone", "Hydroxycitronellal"],
    );
    // A comma forgotten at a line's end.
    check("Aqua, Glycerin\nLinalool\nCoumarin, Sorbitol", &["Linalool", "Coumarin"]);
    // Slashes between synonyms, and between parts of a plant.
    check(
        "Aqua/Water/Eau, Prunus Amygdalus Dulcis Oil/Sweet Almond Oil, Thymus Vulgaris Leaf/Flower Oil, Parfum/Fragrance",
        &["Prunus Amygdalus Dulcis Oil", "Thymus Vulgaris Flower/Leaf Oil", "Parfum"],
    );
    // Allergens within brackets.
    check(
        "Helianthus Annuus Seed Oil, Parfum (Limonene, Linalool [from lavender], Hexyl Cinnamal), Cera Alba (Beeswax)",
        &["Helianthus Annuus Seed Oil", "Parfum", "Limonene", "Linalool", "Hexyl Cinnamal", "Cera Alba"],
    );
    // May contain.
    check("Talc, Mica. May contain (+/-): CI 77491, Farnesol, Lanolin", &["Farnesol", "Lanolin"]);
    // German, with umlauts and footnotes.
    check(
        "Zutaten: Wasser, Butyrospermum Parkii (Shea Butter)*, Pelargonium Graveolens Flower Oil*, Citronellol²\n\
         *aus kontrolliert biologischem Anbau\n²natürlicher Bestandteil ätherischer Öle",
        &["Butyrospermum Parkii Butter", "Pelargonium Graveolens Flower Oil", "Citronellol"],
    );
    // Chemists' prefixes, Greek letters, an en dash, stray case.
    check(
        "d-LIMONENE, α-pinene, β‐Caryophyllene, trans–Anethole, MeNtHoL",
        &["Limonene", "Pinene", "Beta-Caryophyllene", "Anethole", "Menthol"],
    );
    // English names alone, with what is said of how they are made.
    check(
        "Organic cold-pressed sesame seed oil, extra virgin coconut oil, pure peppermint essential oil (0.3%), vitamin E",
        &["Sesamum Indicum Seed Oil", "Cocos Nucifera Oil"],
    );
    // Pipes, a sentence with "and", the whole within brackets.
    check(
        "(Jojoba Oil | Macadamia Ternifolia Seed Oil | contains Limonene, Linalool and Citral)",
        &["Macadamia Ternifolia Seed Oil", "Limonene", "Linalool", "Citral"],
    );
    // A nut in another shape than oil: a protein, and bitter almond.
    check(
        "Aqua, Hydrolyzed Silk, Prunus Amygdalus Dulcis Seed Extract, Juglans Regia Shell Powder, Prunus Amygdalus Amara Kernel Oil",
        &["Prunus Amygdalus Dulcis Oil", "Juglans Regia Seed Oil"],
    );
}

#[test]
fn a_part_of_a_word_or_of_a_name_is_no_match() {
    let atlas = atlas();
    for name in [
        "Citronellal",
        "Limonenes",
        "Isolimonene",
        "Limonene Oxide",
        "Hydroxycitral",
        "Citral Dimethyl Acetal",
        "Dihydrocoumarin",
        "Linalool Oxide",
        "Methylmenthol",
        "Menthol PCA",
        "PEG-75 Lanolin",
        "Acetylated Lanolin",
        "Dipropylene Glycol",
        "Retinol Acid",
        "Propylene Glycol Stearate",
        "Capryloyl Salicylic Acid",
        "Lactic Acid/Glycolic Acid Copolymer",
        "Sodium Cocoyl Isethionate",
        "PEG-40 Hydrogenated Castor Oil",
        "Rosmarinus Officinalis Leaf Extract",
        "Helianthus Annuus Seed Extract",
        "Melaleuca Alternifolia Leaf Water",
        "Almond",
        "Oil",
        "Pinus",
        "Rosa Canina Seed Oil",
        "Citrus Limon Juice",
        "Terpineol Acetate X",
    ] {
        assert_eq!(found(&atlas, name), Vec::<String>::new(), "{name}");
        let product = Product::read(&atlas, name);
        assert_eq!(product.unknown, [name], "{name} is not handed back as written");
    }
}

/// Common names that have no row in the table.
const HARMLESS: [&str; 68] = [
    "Aqua",
    "Glycerin",
    "Squalane",
    "Caprylic/Capric Triglyceride",
    "Cetearyl Alcohol",
    "Cetyl Alcohol",
    "Stearic Acid",
    "Xanthan Gum",
    "Sodium Hyaluronate",
    "Panthenol",
    "Tocopherol",
    "Tocopheryl Acetate",
    "Phenoxyethanol",
    "Ethylhexylglycerin",
    "Sodium Benzoate",
    "Potassium Sorbate",
    "Citric Acid",
    "Lactic Acid",
    "Sodium Hydroxide",
    "Disodium EDTA",
    "Tetrasodium EDTA",
    "Carbomer",
    "Dimethicone",
    "Cyclopentasiloxane",
    "Isopropyl Myristate",
    "Isopropyl Palmitate",
    "Glyceryl Stearate",
    "Glyceryl Stearate SE",
    "PEG-100 Stearate",
    "Polysorbate 20",
    "Polysorbate 60",
    "Sorbitan Stearate",
    "Sorbitan Olivate",
    "Cetearyl Olivate",
    "Butylene Glycol",
    "Pentylene Glycol",
    "1,2-Hexanediol",
    "Caprylyl Glycol",
    "Propanediol",
    "Allantoin",
    "Bisabolol",
    "Niacinamide",
    "Ascorbic Acid",
    "Ascorbyl Palmitate",
    "Urea",
    "Sodium PCA",
    "Betaine",
    "Sorbitol",
    "Maltodextrin",
    "Trehalose",
    "Simmondsia Chinensis Seed Oil",
    "Vitis Vinifera Seed Oil",
    "Olea Europaea Fruit Oil",
    "Ricinus Communis Seed Oil",
    "Persea Gratissima Oil",
    "Oenothera Biennis Oil",
    "Rosa Canina Fruit Oil",
    "Aloe Barbadensis Leaf Juice",
    "Camellia Sinensis Leaf Extract",
    "Calendula Officinalis Flower Extract",
    "Centella Asiatica Extract",
    "Avena Sativa Kernel Flour",
    "Kaolin",
    "Titanium Dioxide",
    "Zinc Oxide",
    "Mica",
    "CI 77491",
    "Acrylates/C10-30 Alkyl Acrylate Crosspolymer",
];

#[test]
fn harmless_names_find_nothing_and_all_are_handed_back() {
    let atlas = atlas();
    for parting in [", ", "; ", "\n", " • ", ",\n"] {
        let product = Product::read(&atlas, &HARMLESS.join(parting));
        assert_eq!(product.found, []);
        assert_eq!(product.unknown, HARMLESS, "parted by {parting:?}");
        assert_eq!(product.names, HARMLESS.len());
        assert_eq!(Judged::new(&atlas, &product, None).class, Class::Go);
    }
}

fn spellings(ingredient: &Ingredient) -> impl Iterator<Item = &String> {
    std::iter::once(&ingredient.name).chain(&ingredient.also)
}

#[test]
fn every_name_of_the_table_is_found_alone_and_among_others() {
    let atlas = atlas();
    let mut names = 0;
    for ingredient in &atlas.ingredients {
        for name in spellings(ingredient) {
            for list in [
                name.clone(),
                name.to_uppercase(),
                format!("Aqua, {name}*, Glycerin"),
                format!("Aqua\n{name} (0.1 %)\nGlycerin"),
            ] {
                assert!(found(&atlas, &list).contains(&ingredient.name), "{name} is not found in {list:?}");
            }
            names += 1;
        }
    }
    assert!(names > 300, "only {names} names");
}

#[test]
fn the_table_holds_no_name_twice_among_different_kinds_of_scent() {
    // An other name finds its own row, and beside it at most rows of the same plant.
    let atlas = atlas();
    for ingredient in &atlas.ingredients {
        for name in spellings(ingredient) {
            let others: Vec<_> = found(&atlas, name).into_iter().filter(|n| *n != ingredient.name).collect();
            let known = ["Lavandula Oil/Extract", "Lavandula Angustifolia Oil"];
            assert!(
                others.iter().all(|n| known.contains(&n.as_str())),
                "{name} of {} is also {others:?}",
                ingredient.name
            );
        }
    }
}

#[test]
fn written_position_share_and_may_are_kept() {
    let atlas = atlas();
    let product = Product::read(&atlas, "Aqua, Tea Tree Oil (0,5 %), Parfum (Linalool 0.02%). May contain: Citral");
    let rows: Vec<_> = product.found.iter().map(|f| (f.written.as_str(), f.position, f.share_ppm, f.may)).collect();
    // What a bracket holds is a name of its own, with its own share.
    let expected = [
        ("Tea Tree Oil (0,5 %)", 2, Some(5_000), false),
        ("Parfum (Linalool 0.02%)", 3, None, false),
        ("Linalool 0.02%", 4, Some(200), false),
        ("Citral", 5, None, true),
    ];
    assert_eq!(rows, expected);
    assert_eq!(Product::read(atlas, "Cera Alba (Beeswax)").found.len(), 1);
}

fn limit_of(list: &str) -> Limit {
    let atlas = atlas();
    Judged::new(&atlas, &Product::read(&atlas, list), None).rows.first().expect("a row").limit
}

#[test]
fn a_share_is_held_against_the_limit_on_the_face() {
    let check = |list: &str, expected: Limit| assert_eq!(limit_of(list), expected, "{list}");
    check("Tea Tree Oil", Limit::Unwritten(50));
    check("Tea Tree Oil 0.5 %", Limit::Within(50));
    check("Tea Tree Oil 0.50001 %", Limit::TooStrong(50));
    check("Tea Tree Oil >0.5 %", Limit::TooStrong(50));
    check("Tea Tree Oil 0.3-0.6 %", Limit::TooStrong(50));
    check("Thyme Oil 0.01 %", Limit::Not);
    check("Methylisothiazolinone", Limit::Not);
    check("Limonene 5 %", Limit::None);
}

const TODAY: &str = "2026-03-01";

fn judged_for(list: &str, answers: impl Fn(&Atlas) -> Answers) -> Judged {
    let atlas = atlas();
    Judged::new(&atlas, &Product::read(&atlas, list), Some((&answers(&atlas), day(TODAY))))
}

fn with(atlas: &Atlas, id: &str, own: Own) -> Answers {
    Answers::all_no(atlas).with(atlas.condition_named(id).expect("a condition"), own)
}

#[test]
fn the_verdict_is_the_strictest_of_what_meets_a_person() {
    let check = |list: &str, id: &str, expected: Class| {
        assert_eq!(judged_for(list, |a| with(a, id, Own::new(Answer::Yes))).class, expected, "{list} with {id}");
    };
    check("Aqua, Limonene", "allergy", Class::LeaveOut);
    check("Aqua, Almond Oil", "allergy", Class::LeaveOut);
    check("Aqua, Limonene", "asthma", Class::AskFirst);
    check("Aqua, Parfum", "asthma", Class::AskFirst);
    check("Aqua, Almond Oil", "asthma", Class::Gently);
    check("Tea Tree Oil 0.1 %", "pregnancy", Class::AskFirst);
    check("Limonene", "pregnancy", Class::Gently);
    check("Peppermint Oil 0.1 %", "dermatitis", Class::LeaveOut);
    check("Rosemary Oil 0.1 %", "epilepsy", Class::AskFirst);
    check("Limonene", "contact_lens", Class::Gently);
    check("Tea Tree Oil", "contact_lens", Class::AskFirst);
    check("Tea Tree Oil 1 %", "contact_lens", Class::LeaveOut);
    check("Salicylic Acid", "contact_lens", Class::LeaveOut);
    check("Aqua, Glycerin", "allergy", Class::Go);
}

#[test]
fn what_is_not_answered_or_no_longer_holds_asks() {
    let unknown = judged_for("Limonene", Answers::unknown);
    assert_eq!(unknown.class, Class::AskFirst);
    assert!(unknown.ask.len() >= 5 && unknown.rows[0].met.iter().all(|m| m.asked == Asked::Open));
    assert_eq!(judged_for("Limonene", |a| Answers::by_groups(a, Answer::No)).class, Class::Gently);
    // The answer to sunburn holds a day, that to allergy 180.
    let today = judged_for("Limonene", |a| Answers::all_no(a).asked_on(day(TODAY)));
    assert_eq!((today.class, today.ask.len()), (Class::Gently, 0));
    let yesterday = judged_for("Limonene", |a| Answers::all_no(a).asked_on(day("2026-02-28")));
    let asked: Vec<_> = yesterday.ask.iter().map(|ix| atlas().conditions[ix.0].id.as_str()).collect();
    assert_eq!((yesterday.class, asked), (Class::AskFirst, vec!["sunburn"]));
    assert_eq!(judged_for("Almond Oil", |a| Answers::all_no(a).asked_on(day("2026-02-20"))).class, Class::Gently);
    assert_eq!(judged_for("Almond Oil", |a| Answers::all_no(a).asked_on(day("2025-08-01"))).class, Class::AskFirst);
}

#[test]
fn a_clinicians_word_opens_gently_what_asks_first_and_nothing_else() {
    let cleared = |id: &str, until: &str| {
        let word = Cleared { by: "Dr Example".to_owned(), on: day("2026-02-01"), until: day(until) };
        let own = Own { cleared: Some(word), ..Own::new(Answer::Yes) };
        judged_for("Limonene", |a| with(a, id, own.clone())).class
    };
    assert_eq!(cleared("asthma", "2026-06-01"), Class::Gently);
    assert_eq!(cleared("asthma", "2026-02-20"), Class::AskFirst);
    assert_eq!(cleared("allergy", "2026-06-01"), Class::LeaveOut);
}

fn refused(own: &str) -> String {
    let files: Vec<(&str, &str)> = Atlas::built_in_files().iter().copied().chain([("own.toml", own)]).collect();
    let findings = Atlas::load(&files).expect_err("it is refused");
    findings.iter().map(|f| format!("{f}\n")).collect()
}

#[test]
fn broken_rows_are_refused_with_their_line() {
    let check = |own: &str, expected: &str| {
        let said = refused(own);
        assert!(said.contains(expected) && said.contains("own.toml:"), "{expected:?} is not in {said}");
    };
    let row =
        |more: &str| format!("[[ingredient]]\nname = \"Mine\"\nkind = \"other\"\nnote = \"n\"\nsource = \"s\"\n{more}");
    check(&row("also = [\"citral\"]"), "is a name of `Citral` already");
    check(&row("also = [\"--\"]"), "without a letter");
    check(&row("also = 3"), "a list of texts");
    check(&row("plants = [\" \"]"), "Latin name");
    check(&row("alos = [\"x\"]"), "did you mean `also`");
    let rule = |more: &str| {
        format!("[[product_rule]]\nid = \"mine\"\nclass = \"gently\"\nsays = \"s\"\nsource = \"s\"\n{more}")
    };
    check(&rule(""), "needs `kinds` or `names`");
    check(&rule("kinds = [\"nut\"]"), "nut_oil");
    check(&rule("names = [\"Limonen\"]"), "Limonene");
    check(&rule("kinds = [\"other\"]\ncondition = \"alergy\""), "allergy");
    check(
        "[[product_rule]]\nid = \"mine\"\nclass = \"stop\"\nkinds = [\"other\"]\nsays = \"s\"\nsource = \"s\"",
        "class",
    );
}

/// A list of names of the table and of harmless ones.
fn lists() -> impl Strategy<Value = Vec<String>> {
    let atlas = atlas();
    let known: Vec<String> =
        atlas.ingredients.iter().flat_map(spellings).filter(|n| !n.contains(',')).cloned().collect();
    let harmless = prop::sample::select(HARMLESS.to_vec()).prop_map(str::to_owned);
    prop::collection::vec(prop_oneof![prop::sample::select(known), harmless], 1..25)
}

fn set(atlas: &Atlas, list: &str) -> BTreeSet<String> {
    found(atlas, list).into_iter().collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn order_case_and_parting_change_nothing(names in lists(), parting in prop::sample::select(vec![", ", "; ", "\n", " | ", " • ", ",\n"])) {
        let atlas = atlas();
        let plain = set(&atlas, &names.join(", "));
        let mut turned = names.clone();
        turned.reverse();
        prop_assert_eq!(&plain, &set(&atlas, &turned.join(parting)));
        prop_assert_eq!(&plain, &set(&atlas, &names.join(parting).to_uppercase()));
        prop_assert_eq!(&plain, &set(&atlas, &format!("INGREDIENTS: {}.", names.join(parting).to_lowercase())));
    }

    /// Naive oracle: each name by itself.
    #[test]
    fn a_list_finds_what_its_names_find(names in lists()) {
        let atlas = atlas();
        let each: BTreeSet<String> = names.iter().flat_map(|n| set(&atlas, n)).collect();
        prop_assert_eq!(each, set(&atlas, &names.join(", ")));
    }

    #[test]
    fn no_text_panics_and_every_row_points_into_the_table(text in "(\\PC|[\\n\\t,;:()\\[\\]/%*.0-9+-]){0,400}") {
        let atlas = atlas();
        let product = Product::read(&atlas, &text);
        prop_assert!(product.found.iter().all(|f| f.ingredient < atlas.ingredients.len() && f.position <= product.names));
        prop_assert!(product.unknown.len() <= product.names);
        let judged = Judged::new(&atlas, &product, None);
        prop_assert_eq!(judged.class == Class::Go, product.found.is_empty());
    }

    /// A condition more never makes it milder.
    #[test]
    fn a_condition_more_never_opens_anything(names in lists(), n in 0_usize..100) {
        let atlas = atlas();
        let product = Product::read(&atlas, &names.join(", "));
        let ix = plan::atlas::ConditionIx(n % atlas.conditions.len());
        let class = |answers: &Answers| Judged::new(&atlas, &product, Some((answers, day(TODAY)))).class;
        let without = Answers::all_no(&atlas);
        prop_assert!(class(&without.clone().with(ix, Own::new(Answer::Yes))) >= class(&without));
    }
}

#[test]
fn the_longest_list_of_brackets_and_line_ends_is_read_in_no_time() {
    let atlas = atlas();
    for part in ["(", ")", "(a,", "a\n", "a/b/", "1,1%", "+/-(", "x,\nlimonene\n"] {
        let text: String = part.chars().cycle().take(MOST_CHARS).collect();
        let product = Product::read(&atlas, &text);
        assert!(product.names <= MOST_CHARS);
    }
}
