//! A moment as the device's clock gives it.

/// Seconds since 1970-01-01T00:00:00Z, leap seconds apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Moment(i64);

/// `YYYY-MM-DDThh:mm:ss+hh:mm`.
const CHARS: usize = 25;

impl Moment {
    /// Reads `YYYY-MM-DDThh:mm:ss±hh:mm` (RFC 3339 with a numeric offset and whole seconds); `None` where it is none.
    pub fn read(text: &str) -> Option<Moment> {
        let text = text.get(..CHARS).filter(|_| text.len() == CHARS)?;
        let (day, rest) = text.split_at_checked(10)?;
        let day = days(day)?;
        let rest = rest.strip_prefix('T')?;
        let (clock, offset) = rest.split_at_checked(8)?;
        let [hour, minute, second] = numbers(clock)?;
        let (sign, offset) = match offset.split_at_checked(1)? {
            ("+", offset) => (1, offset),
            ("-", offset) => (-1, offset),
            _ => return None,
        };
        let [offset_hours, offset_minutes] = numbers(offset)?;
        let fits = hour < 24 && minute < 60 && second < 60 && offset_hours < 24 && offset_minutes < 60;
        let local = day * 86_400 + hour * 3_600 + minute * 60 + second;
        fits.then_some(Moment(local - sign * (offset_hours * 3_600 + offset_minutes * 60)))
    }
}

/// `N` numbers of two digits, parted by colons.
fn numbers<const N: usize>(text: &str) -> Option<[i64; N]> {
    let mut parts = text.split(':');
    let mut found = [0; N];
    for number in &mut found {
        let digits =
            parts.next().filter(|part| part.len() == 2 && part.bytes().all(|byte| byte.is_ascii_digit()))?;
        *number = digits.parse().ok()?;
    }
    parts.next().is_none().then_some(found)
}

/// Days since 1970-01-01 of a calendar date `YYYY-MM-DD`; `None` where it is none.
fn days(date: &str) -> Option<i64> {
    if !crate::validate::is_date(date) {
        return None;
    }
    let number = |range| date.get(range).and_then(|digits: &str| digits.parse::<i64>().ok());
    let (year, month, day) = (number(0..4)?, number(5..7)?, number(8..10)?);
    // Years begin in March, so that the leap day is a year's last; the Gregorian calendar repeats every 400 years of 146,097 days.
    let year = if month <= 2 { year - 1 } else { year };
    let month = (month + 9) % 12;
    let day_of_year = (153 * month + 2) / 5 + day - 1;
    let of_era = year.rem_euclid(400);
    let day_of_era = of_era * 365 + of_era / 4 - of_era / 100 + day_of_year;
    Some(year.div_euclid(400) * 146_097 + day_of_era - 719_468)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moment_is_read_as_rfc_3339_examples_say() {
        // RFC 3339 §5.8: these two are the same moment; the Unix times are from `date -d … +%s` of GNU coreutils.
        let read = |text| Moment::read(text).map(|moment| moment.0);
        assert_eq!(read("1996-12-19T16:39:57-08:00"), Some(851_042_397));
        assert_eq!(read("1996-12-20T00:39:57+00:00"), Some(851_042_397));
        assert_eq!(read("2024-02-29T23:59:59+05:30"), Some(1_709_231_399));
        assert_eq!(read("1970-01-01T00:00:00+00:00"), Some(0));
    }

    #[test]
    fn moment_that_is_none_is_refused() {
        for text in [
            "",
            "2026-11-28",
            "2026-11-28T10:15:00Z",
            "2026-02-29T10:15:00+01:00",
            "2026-11-28T24:00:00+01:00",
            "2026-11-28T10:60:00+01:00",
            "2026-11-28 10:15:00+01:00",
            "2026-11-28T10:15:00+0100 ",
            "2026-11-28T1:015:00+01:00",
            "2026-11-28T10:15:00+01:0é",
        ] {
            assert_eq!(Moment::read(text), None, "{text}");
        }
    }
}
