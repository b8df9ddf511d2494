//! The product check on whole lists.

use plan::atlas::Atlas;
use plan::product::Product;

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
    let atlas = Atlas::built_in();
    assert_eq!(found(&atlas, list), expected, "{list}");
}

#[test]
fn a_plain_list_with_commas() {
    check(
        "Ingredients: Aqua, Prunus Amygdalus Dulcis (Sweet Almond) Oil, Glycerin, Parfum (Fragrance), Limonene, Linalool, Citral.",
        &["Prunus Amygdalus Dulcis Oil", "Parfum", "Limonene", "Linalool", "Citral"],
    );
}
