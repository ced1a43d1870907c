//! Order without much code: the library's sort is made anew for every kind of thing and every order, which was a tenth of the page's module.

/// The lesser of two numbers; the first where one is no number. `f64::min` sets NaN apart, which is a call in WebAssembly.
#[inline(always)]
#[must_use]
pub fn lesser(a: f64, b: f64) -> f64 {
    if b < a { b } else { a }
}

/// The greater of two numbers, likewise.
#[inline(always)]
#[must_use]
pub fn greater(a: f64, b: f64) -> f64 {
    if b > a { b } else { a }
}

/// The number, or the nearer of these ends where it is beyond one; what is no number stays so. `f64::clamp` brings what writes the ends down
/// where they are the wrong way round, which is more code than all of JSON.
#[inline(always)]
#[must_use]
pub fn within(number: f64, least: f64, greatest: f64) -> f64 {
    if number < least {
        least
    } else if number > greatest {
        greatest
    } else {
        number
    }
}

/// Sorts numbers in rising order; what is no number goes to the ends, by its sign ([`f64::total_cmp`]).
#[inline(never)]
pub fn rising(numbers: &mut [f64]) {
    let mut pairs: Vec<(f64, usize)> = numbers.iter().map(|number| (*number, 0)).collect();
    rising_pairs(&mut pairs);
    numbers.iter_mut().zip(pairs).for_each(|(number, (sorted, _))| *number = sorted);
}

/// Sorts numbers with what they stand for in rising order; those that are equal by the latter.
#[inline(never)]
pub(crate) fn rising_pairs(pairs: &mut [(f64, usize)]) {
    pairs.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
}

/// The things in rising order of a number that each has; those that have the same one stay in their order.
#[must_use]
pub fn by_number<T>(things: Vec<T>, number: impl Fn(&T) -> f64) -> Vec<T> {
    let mut order: Vec<(f64, usize)> =
        things.iter().enumerate().map(|(i, thing)| (number(thing), i)).collect();
    rising_pairs(&mut order);
    let mut things: Vec<Option<T>> = things.into_iter().map(Some).collect();
    order.into_iter().filter_map(|(_, i)| things.get_mut(i)?.take()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn order_is_that_of_the_librarys_stable_sort(numbers in prop::collection::vec(-3..3_i8, 0..40)) {
            let things: Vec<(f64, usize)> = numbers.iter().enumerate().map(|(i, n)| (f64::from(*n), i)).collect();
            let mut wanted = things.clone();
            wanted.sort_by(|a, b| a.0.total_cmp(&b.0));
            prop_assert_eq!(by_number(things, |thing| thing.0), wanted.clone());
            let mut plain: Vec<f64> = numbers.iter().map(|n| f64::from(*n)).collect();
            rising(&mut plain);
            prop_assert_eq!(plain, wanted.into_iter().map(|(n, _)| n).collect::<Vec<_>>());
        }
    }

    #[test]
    fn lesser_and_greater_are_the_librarys() {
        for (a, b) in [(1.0, 2.0), (2.0, 1.0), (-1.0, -1.0), (f64::NEG_INFINITY, 0.0), (3.0, f64::INFINITY)] {
            assert_eq!((lesser(a, b), greater(a, b)), (a.min(b), a.max(b)));
            let (least, greatest) = (a.min(b), a.max(b));
            for number in [-1.5, 0.0, 1.5, 2.5, f64::INFINITY] {
                assert_eq!(within(number, least, greatest), number.clamp(least, greatest));
            }
            assert!(within(f64::NAN, least, greatest).is_nan());
        }
        assert_eq!((lesser(1.0, f64::NAN), greater(1.0, f64::NAN)), (1.0, 1.0));
    }

    #[test]
    fn what_is_no_number_goes_to_the_end() {
        assert_eq!(by_number(vec![f64::NAN, 2.0, -1.0], |n| *n)[..2], [-1.0, 2.0]);
        assert!(by_number(Vec::<f64>::new(), |n| *n).is_empty());
    }
}
