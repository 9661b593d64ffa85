//! Every built-in card: it parses, and every number has a source and a status.

use lightseam::input::library;

#[test]
fn every_card_parses_and_names_its_sources() {
    let ids: Vec<&str> = library::ids().collect();
    assert!(21 <= ids.len());
    for id in ids {
        let (card, notes) = library::material(id)
            .unwrap()
            .unwrap_or_else(|it| panic!("{id}: {it}"));
        assert!(notes.is_empty(), "{id}: {notes:?}");
        let provenances = card.provenances();
        assert!(7 <= provenances.len(), "{id}");
        for (quantity, source, _) in provenances {
            assert!(5 < source.len(), "{id}: {quantity} has no source");
        }
    }
}
