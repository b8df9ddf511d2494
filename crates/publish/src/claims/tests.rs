//! What must hold of the check whatever its words are.

use super::*;

#[test]
fn the_words_that_ship_are_read_whole() {
    let mut wrong = Vec::new();
    Rules::read(&mut wrong);
    assert_eq!(wrong, Vec::<String>::new());
}
