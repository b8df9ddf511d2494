//! The atlas as shipped.
use plan::atlas::Atlas;

#[test]
fn loads() {
    match Atlas::load(Atlas::built_in_files()) {
        Ok(_) => {}
        Err(f) => panic!("{}", f.iter().map(|f| f.to_string()).collect::<Vec<_>>().join("\n")),
    }
}
