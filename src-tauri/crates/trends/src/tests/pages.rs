//! The report as HTML and as PDF: whole, without a network, each figure with its trust line and its sources.

use record::RunKind;
use sheet::{Block, Paper, Report};
use words::{TrendWord, Words};

use super::seen;
use crate::{Copied, Gone, LeftOut, Like, Missing, Seen, Sifted, Why, groups, html, report};

fn sifted() -> Sifted {
    let mut all: Vec<Seen> = (0_i32..24)
        .map(|k| Seen {
            fitting_s: Some(f64::from(30_i32.saturating_sub(k))),
            pre_s: Some(9.0),
            post_s: Some(4.0),
            peri_s: Some(13.0),
            ..seen(
                2025_i32.saturating_add(k.div_euclid(12)),
                1_i32.saturating_add(k.rem_euclid(12)),
                0.8,
                f64::from(k),
            )
        })
        .collect();
    all.push(Seen {
        kind: RunKind::Drill,
        fitting_s: Some(8.0),
        ..seen(2026, 2, 0.9, 8.0)
    });
    Sifted {
        files: 30,
        seen: all,
        left_out: vec![LeftOut {
            place: "a <b>&\"c\".txt".to_owned(),
            why: Why::Foreign,
            detail: "no record".to_owned(),
        }],
        copied: vec![Copied {
            record_id: "r".to_owned(),
            place: "two".to_owned(),
            kept: "one".to_owned(),
            like: Like::Differs,
        }],
        missing: vec![Missing {
            gone: Gone::HandIn,
            name: "0f".to_owned(),
            told_by: "three".to_owned(),
        }],
    }
}

fn made(lang: &str) -> (Report, Words) {
    let words = Words::load(lang).unwrap();
    let sifted = sifted();
    let groups = groups(&sifted.seen, None);
    (report(&sifted, &groups, None, &words), words)
}

fn page(lang: &str) -> String {
    let (report, words) = made(lang);
    html(&report, lang, &words.trend(TrendWord::AsTable))
}

#[test]
fn the_page_is_well_formed_and_asks_the_network_for_nothing() {
    for lang in Words::languages() {
        let page = page(lang);
        let (doctype, rest) = page.split_once('\n').unwrap();
        assert_eq!(doctype, "<!doctype html>");
        let tree = roxmltree::Document::parse(rest).unwrap();
        let root = tree.root_element();
        assert_eq!(root.attribute("lang"), Some(lang));
        for node in tree.descendants().filter(roxmltree::Node::is_element) {
            let name = node.tag_name().name();
            assert!(
                !["script", "link", "img", "iframe", "object"].contains(&name),
                "{name}"
            );
            for attribute in node.attributes() {
                assert!(!["src", "href"].contains(&attribute.name()), "{name}");
            }
        }
        // The font, which lies in the page itself.
        let fonts = page.matches("url(data:font/ttf;base64,").count();
        assert_eq!((page.matches("url(").count(), fonts), (1, 1), "{lang}");
        let addresses = page.matches("http").count();
        let pictures = page.matches("xmlns=\"http://www.w3.org/2000/svg\"").count();
        // The header's own word for a rule of the page is one more.
        assert_eq!(addresses, pictures + 1, "{lang}");
        assert!(pictures > 8, "{lang}");
    }
}

#[test]
fn what_a_file_is_called_is_no_part_of_the_page() {
    let page = page("en-US");
    assert!(page.contains("a &lt;b&gt;&amp;&quot;c&quot;.txt"));
    assert!(!page.contains("<b>"));
}

/// Behind every chart stands a paragraph with the trust line of its own runs: 24 runs, 3 of 4 checks each.
#[test]
fn every_chart_has_its_trust_line() {
    let (report, _) = made("en-US");
    let mut charts = 0;
    for two in report.blocks.windows(2) {
        let Block::Chart(scene, _) = &two[0] else {
            continue;
        };
        charts += 1;
        let Block::Paragraph(text) = &two[1] else {
            panic!("{}: nothing after it", scene.title);
        };
        let checks = if scene.title.contains("Drills") {
            "3 of 4"
        } else {
            "72 of 96"
        };
        let wanted = format!("known share of the windows 0.90; checks marked {checks}");
        assert!(text.contains(&wanted), "{}: {text}", scene.title);
    }
    assert!(charts > 8, "{charts}");
}

#[test]
fn published_figures_stand_in_the_picture_with_their_source() {
    let (report, _) = made("en-US");
    let words_of = |title: &str| -> Vec<String> {
        let scene = report.blocks.iter().find_map(|block| match block {
            Block::Chart(scene, _) if scene.title.starts_with(title) => Some(scene),
            Block::Heading(_) | Block::Paragraph(_) | Block::Table(_) | Block::Chart(..) => None,
        });
        let texts = scene.unwrap().text_areas();
        texts.into_iter().map(|(_, text)| text.to_owned()).collect()
    };
    let longest = words_of("Longest pause, Runs");
    for wanted in [
        "10 s: basic life support 2020",
        "25 s: before training, Levy 2015",
        "13 s: after training, Levy 2015",
        "11.5 s: median",
    ] {
        assert!(
            longest.iter().any(|text| text == wanted),
            "{wanted}: {longest:?}"
        );
    }
    let drill = words_of("Off the chest in the first device fitting, Drills");
    assert!(
        drill
            .iter()
            .any(|text| text == "31.6 s: at a manikin, Am J Emerg Med"),
        "{drill:?}"
    );
    // Of runs the manikin's figure is none.
    let run = words_of("Off the chest in the first device fitting, Runs");
    assert!(run.iter().all(|text| !text.contains("manikin")), "{run:?}");
}

/// 24 runs that rise from 0 to 23 s cross their median once, of which eight are the fewest.
#[test]
fn a_signal_is_said_with_both_numbers_and_few_points_with_their_threshold() {
    let (report, _) = made("en-US");
    let said: Vec<&String> = report
        .blocks
        .iter()
        .filter_map(|block| match block {
            Block::Paragraph(text) => Some(text),
            Block::Heading(_) | Block::Table(_) | Block::Chart(..) => None,
        })
        .collect();
    assert!(said.iter().any(|text| text.contains(
        "The rules find a signal, something other than chance: longest run on one side of the median 12 (allowed: \
         up to 8), crossings 1 (allowed: from 8)."
    )));
    assert!(
        said.iter()
            .any(|text| text.contains("Fewer than 12 points"))
    );
}

/// Runs, so many a month for so many months, of which every fifth lies below 0.60: the paragraphs on them.
fn paragraphs(months: i32, each: i32) -> Vec<String> {
    let months = (0..months).flat_map(|month| (0..each).map(move |_| month));
    let all = months.zip((0..5).cycle()).map(|(month, k)| {
        let (year, month) = (month.div_euclid(12), month.rem_euclid(12));
        let fraction = if k == 0 { 0.5 } else { 0.8 };
        let (year, month) = (2025_i32.saturating_add(year), 1_i32.saturating_add(month));
        seen(year, month, fraction, 9.0)
    });
    let sifted = Sifted {
        seen: all.collect(),
        ..Sifted::default()
    };
    let words = Words::load("en-US").unwrap();
    let report = report(&sifted, &groups(&sifted.seen, None), None, &words);
    let said = report.blocks.into_iter().filter_map(|block| match block {
        Block::Paragraph(text) => Some(text),
        Block::Heading(_) | Block::Table(_) | Block::Chart(..) => None,
    });
    said.collect()
}

/// By hand: a fifth is out, so 25 of a month are the fewest for limits. Three a quarter are too few, 25 a month are not.
#[test]
fn a_share_without_limits_says_why() {
    let has = |all: &[String], text: &str| all.iter().any(|said| said.contains(text));
    let (none, enough) = (paragraphs(36, 1), paragraphs(12, 25));
    assert!(has(&none, "No point has limits: each is of too few"));
    assert!(!has(&none, "outside their limits") && !has(&none, "outside its limits"));
    assert!(has(&enough, "No point lies outside its limits."));
    assert!(!has(&enough, "of too few"));
}

#[test]
fn no_words_of_a_chart_lie_on_each_other_or_outside_of_it() {
    for lang in Words::languages() {
        let (report, _) = made(lang);
        for block in &report.blocks {
            let Block::Chart(scene, _) = block else {
                continue;
            };
            let areas = scene.text_areas();
            for (n, (a, text)) in areas.iter().enumerate() {
                let inside = a.x >= -0.01
                    && a.y >= -0.01
                    && a.x + a.w <= scene.width + 0.01
                    && a.y + a.h <= scene.height + 0.01;
                assert!(inside, "{lang} {}: {text} at {a:?}", scene.title);
                for (b, other) in areas.iter().skip(n + 1) {
                    assert!(!a.overlaps(b), "{lang} {}: {text} and {other}", scene.title);
                }
            }
        }
    }
}

#[test]
fn the_same_runs_give_the_same_pages_and_the_pdf_keeps_the_rules_of_tagged_ones() {
    for paper in Paper::ALL {
        let (report, words) = made("es-ES");
        let one = sheet::report_pdf(&report, &words, paper).unwrap();
        let two = sheet::report_pdf(&made("es-ES").0, &words, paper).unwrap();
        assert!(one.starts_with(b"%PDF-") && one == two);
    }
    assert_eq!(page("en-GB"), page("en-GB"));
}
