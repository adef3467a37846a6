//! Nothing of a ride shows a bare key.

use workbench::ride::answers::ANSWERS;
use workbench::ride::ensemble::WORTHS;
use workbench::ride::limits::EndsBy;
use workbench::ride::options::OPTIONS;
use workbench::ride::study::LOADS;
use workbench::ride::tally::Limit;
use workbench::words;

#[test]
fn every_list_of_a_ride_has_words() {
    let mut wanted: Vec<String> = ANSWERS.iter().map(|a| format!("ride.answer.{}", a.key)).collect();
    wanted.extend(OPTIONS.iter().map(|o| format!("ride.option.{}", o.name)));
    wanted.extend(LOADS.iter().map(|(_, key)| format!("ride.text.load-{key}")));
    for limit in Limit::ALL {
        wanted.push(format!("ride.limit.{}", limit.token()));
        wanted.push(format!("ride.ends-by.{}", EndsBy::Limit(limit).token()));
    }
    for ends in [EndsBy::Nothing, EndsBy::Winding, EndsBy::Gears] {
        wanted.push(format!("ride.ends-by.{}", ends.token()));
    }
    for worth in WORTHS {
        wanted.push(format!("ride.worth.{}", worth.token()));
        wanted.push(format!("ride.variants.worth-{}", worth.token()));
    }
    let gone: Vec<&String> = wanted.iter().filter(|key| words::find(key).is_none()).collect();
    assert!(gone.is_empty(), "no words for {gone:#?}");
}

#[test]
fn every_answer_names_its_unit_in_its_key() {
    for a in ANSWERS {
        let ending = match a.unit {
            "min" => "_min",
            "km/h" => "_km_h",
            "Wh" => "_wh",
            "Wh/km" => "_wh_km",
            "m/km" => "_m_km",
            "%" => "_percent",
            "W" => "_w",
            "°C" => "_c",
            "K" => "_k",
            "A" => "_a",
            "V" => "_v",
            "s" => "_s",
            "N·m" => "_nm",
            _ => "",
        };
        assert!(a.key.ends_with(ending), "{} in {}", a.key, a.unit);
    }
}
