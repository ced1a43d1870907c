//! A map of few things, kept as a list in the order of its keys.

use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::borrow::Borrow;

/// A map whose entries stand in a list, in rising order of their keys. For the dozens of landmarks, parameters and texts of a plan that is
/// as quick as the library's tree of nodes, and its code, which is made anew for each kind of entry, is a fifth as long. Putting one in before others
/// moves these, so whoever reads many of unknown order has to set a limit.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SortedMap<K, V> {
    entries: Vec<(K, V)>,
}

impl<K, V> SortedMap<K, V> {
    /// An empty map.
    #[must_use]
    pub const fn new() -> Self {
        SortedMap { entries: Vec::new() }
    }

    /// How many entries there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.entries.len()
    }

    /// Whether there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }

    /// Takes all entries out.
    pub fn clear(&mut self) {
        self.entries.clear();
    }

    /// The entries in the order of their keys.
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = (&K, &V)> + ExactSizeIterator + Clone {
        self.entries.iter().map(|(key, value)| (key, value))
    }

    /// The keys in their order.
    pub fn keys(&self) -> impl DoubleEndedIterator<Item = &K> + ExactSizeIterator + Clone {
        self.entries.iter().map(|(key, _)| key)
    }

    /// The values in the order of their keys.
    pub fn values(&self) -> impl DoubleEndedIterator<Item = &V> + ExactSizeIterator + Clone {
        self.entries.iter().map(|(_, value)| value)
    }

    /// The same, to be changed.
    pub fn values_mut(&mut self) -> impl DoubleEndedIterator<Item = &mut V> + ExactSizeIterator {
        self.entries.iter_mut().map(|(_, value)| value)
    }

    /// Keeps the entries for which this holds.
    pub fn retain(&mut self, mut keep: impl FnMut(&K, &mut V) -> bool) {
        self.entries.retain_mut(|(key, value)| keep(key, value));
    }
}

impl<K: Ord, V> SortedMap<K, V> {
    /// Where a key is, or where it would go.
    fn place<Q: Ord + ?Sized>(&self, key: &Q) -> Result<usize, usize>
    where
        K: Borrow<Q>,
    {
        self.entries.binary_search_by(|(known, _)| known.borrow().cmp(key))
    }

    /// The value of a key.
    #[must_use]
    pub fn get<Q: Ord + ?Sized>(&self, key: &Q) -> Option<&V>
    where
        K: Borrow<Q>,
    {
        self.entries.get(self.place(key).ok()?).map(|(_, value)| value)
    }

    /// The same, to be changed.
    pub fn get_mut<Q: Ord + ?Sized>(&mut self, key: &Q) -> Option<&mut V>
    where
        K: Borrow<Q>,
    {
        let place = self.place(key).ok()?;
        self.entries.get_mut(place).map(|(_, value)| value)
    }

    /// Whether there is an entry with this key.
    #[must_use]
    pub fn contains_key<Q: Ord + ?Sized>(&self, key: &Q) -> bool
    where
        K: Borrow<Q>,
    {
        self.place(key).is_ok()
    }

    /// Puts an entry in, and gives back the value that its key had.
    pub fn insert(&mut self, key: K, value: V) -> Option<V> {
        match self.place_to_insert(&key) {
            Ok(place) => self.entries.get_mut(place).map(|entry| std::mem::replace(&mut entry.1, value)),
            Err(place) => {
                self.entries.insert(place, (key, value));
                None
            }
        }
    }

    /// The value of a key, after its default was put in where there was none.
    pub fn or_default(&mut self, key: K) -> &mut V
    where
        V: Default,
    {
        let place = self.place_to_insert(&key).unwrap_or_else(|place| {
            self.entries.insert(place, (key, V::default()));
            place
        });
        &mut self.entries[place].1
    }

    /// As [`place`](Self::place); most maps are made in order.
    fn place_to_insert(&self, key: &K) -> Result<usize, usize> {
        match self.entries.last() {
            Some((last, _)) if last < key => Err(self.entries.len()),
            _ => self.place(key),
        }
    }

    /// Takes an entry out, and gives back its value.
    pub fn remove<Q: Ord + ?Sized>(&mut self, key: &Q) -> Option<V>
    where
        K: Borrow<Q>,
    {
        let place = self.place(key).ok()?;
        Some(self.entries.remove(place).1)
    }
}

impl<K, V> Default for SortedMap<K, V> {
    fn default() -> Self {
        SortedMap::new()
    }
}

/// Of entries with the same key the last counts.
impl<K: Ord, V> FromIterator<(K, V)> for SortedMap<K, V> {
    fn from_iter<I: IntoIterator<Item = (K, V)>>(entries: I) -> Self {
        let mut map = SortedMap::new();
        map.extend(entries);
        map
    }
}

impl<K: Ord, V> Extend<(K, V)> for SortedMap<K, V> {
    fn extend<I: IntoIterator<Item = (K, V)>>(&mut self, entries: I) {
        for (key, value) in entries {
            self.insert(key, value);
        }
    }
}

impl<K: Ord, V, const N: usize> From<[(K, V); N]> for SortedMap<K, V> {
    fn from(entries: [(K, V); N]) -> Self {
        entries.into_iter().collect()
    }
}

impl<K, V> IntoIterator for SortedMap<K, V> {
    type Item = (K, V);
    type IntoIter = std::vec::IntoIter<(K, V)>;

    fn into_iter(self) -> Self::IntoIter {
        self.entries.into_iter()
    }
}

impl<'a, K, V> IntoIterator for &'a SortedMap<K, V> {
    type Item = (&'a K, &'a V);
    type IntoIter = std::iter::Map<std::slice::Iter<'a, (K, V)>, fn(&'a (K, V)) -> (&'a K, &'a V)>;

    fn into_iter(self) -> Self::IntoIter {
        self.entries.iter().map(|(key, value)| (key, value))
    }
}

impl<K: Ord + Borrow<Q>, V, Q: Ord + ?Sized> std::ops::Index<&Q> for SortedMap<K, V> {
    type Output = V;

    /// As for the library's maps, a key that is not there is a mistake of the program.
    fn index(&self, key: &Q) -> &V {
        self.get(key).expect("the key is in the map")
    }
}

impl<K: Serialize, V: Serialize> Serialize for SortedMap<K, V> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(self.iter())
    }
}

impl<'de, K: Ord + Deserialize<'de>, V: Deserialize<'de>> Deserialize<'de> for SortedMap<K, V> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        std::collections::BTreeMap::<K, V>::deserialize(deserializer).map(|map| map.into_iter().collect())
    }
}

#[cfg(feature = "schema")]
impl<K: schemars::JsonSchema, V: schemars::JsonSchema> schemars::JsonSchema for SortedMap<K, V> {
    fn inline_schema() -> bool {
        std::collections::BTreeMap::<K, V>::inline_schema()
    }
    fn schema_name() -> std::borrow::Cow<'static, str> {
        std::collections::BTreeMap::<K, V>::schema_name()
    }
    fn json_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
        std::collections::BTreeMap::<K, V>::json_schema(generator)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::collections::BTreeMap;

    proptest! {
        /// The library's map is what it has to be like.
        #[test]
        fn what_is_done_to_it_is_done_as_to_the_librarys(steps in prop::collection::vec((0..4_u8, 0..12_i8, any::<u8>()), 0..40)) {
            let (mut ours, mut theirs) = (SortedMap::new(), BTreeMap::new());
            for (step, key, value) in steps {
                match step {
                    0 => prop_assert_eq!(ours.or_default(key), theirs.entry(key).or_default()),
                    1 => prop_assert_eq!(ours.insert(key, value), theirs.insert(key, value)),
                    2 => prop_assert_eq!(ours.remove(&key), theirs.remove(&key)),
                    _ => {
                        ours.retain(|key, it| *key % 2 == 0 || *it > value);
                        theirs.retain(|key, it| *key % 2 == 0 || *it > value);
                    }
                }
                prop_assert_eq!(ours.get(&key), theirs.get(&key));
                prop_assert_eq!(ours.get_mut(&key), theirs.get_mut(&key));
                prop_assert_eq!(ours.contains_key(&key), theirs.contains_key(&key));
                prop_assert_eq!(ours.len(), theirs.len());
                prop_assert_eq!(ours.is_empty(), theirs.is_empty());
            }
            prop_assert!(ours.iter().eq(theirs.iter()) && (&ours).into_iter().eq(theirs.iter()));
            prop_assert!(ours.keys().eq(theirs.keys()) && ours.values().eq(theirs.values()));
            prop_assert!(ours.values_mut().eq(theirs.values_mut()));
            let again: SortedMap<i8, u8> = theirs.iter().rev().map(|(key, value)| (*key, *value)).collect();
            prop_assert_eq!(&again, &ours);
            prop_assert!(ours.into_iter().eq(theirs));
        }
    }

    #[test]
    fn of_the_same_key_the_last_counts() {
        let map = SortedMap::from([("b", 1), ("a", 2), ("b", 3)]);
        assert!(map.iter().eq([(&"a", &2), (&"b", &3)]));
        assert_eq!(map["b"], 3);
    }
}
