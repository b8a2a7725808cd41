//! Files: the same bytes for the same document, what it says of itself, text that can be read out again.

use brimstock::render::pdf::block::{Block, Frame, Row, Table, Text, Width, joined};
use brimstock::render::pdf::document::Document;
use brimstock::render::pdf::flow::{Sheet, pages};
use brimstock::render::pdf::{Face, Ink, Mark, Page, picture, qr};

use super::{document, file, run};
use crate::cards::golden::golden;
use crate::cards::{Paper, picture as raster, tool};

const SENTENCE: &str = "Añádase lejía: 5,25 % de cloro activo en H₂O — ≈ 2,7 g/L, Łódź";

fn sample() -> Document {
    let mut marks = vec![
        Mark::Bookmark { level: 0, title: "Lejía".to_owned() },
        run(Face::Bold, 20.0, 30.0, 12.0, SENTENCE),
        run(Face::Regular, 20.0, 45.0, 8.0, SENTENCE),
        Mark::Bookmark { level: 1, title: "Cómo".to_owned() },
        Mark::Picture { name: picture::name("GHS05").unwrap(), x: 20.0, y: 60.0, side: 30.0 },
        Mark::Picture { name: picture::name("goggles").unwrap(), x: 60.0, y: 60.0, side: 30.0 },
    ];
    marks.extend(qr::marks("HP-1", 25.0).into_iter().map(|mark| mark.shifted(100.0, 60.0)));
    let first = Page { width: 210.0, height: 297.0, marks };
    let second = Page {
        width: 105.0,
        height: 148.0,
        marks: vec![Mark::Bookmark { level: 1, title: "Dónde".to_owned() }, run(Face::Regular, 9.0, 20.0, 9.0, "fin")],
    };
    document(vec![first, second])
}

#[test]
fn the_same_document_gives_the_same_bytes() {
    let bytes = sample().bytes().unwrap();
    assert_eq!(bytes, sample().bytes().unwrap());
    let other = document(vec![Page { width: 50.0, height: 50.0, marks: vec![run(Face::Bold, 5.0, 9.0, 9.0, "otro")] }]);
    assert_ne!(other.bytes().unwrap(), bytes);
    assert_eq!(bytes, sample().bytes().unwrap(), "other documents before it leave nothing behind");
    let threads: Vec<_> = (0..3).map(|_| std::thread::spawn(|| sample().bytes().unwrap())).collect();
    assert!(threads.into_iter().all(|thread| thread.join().unwrap() == bytes), "nor do those made beside it");
    let later = Document { day: sample().day.succ_opt().unwrap(), ..sample() };
    assert_ne!(later.bytes().unwrap(), bytes, "another day is another file");
}

#[test]
fn it_says_what_it_is() {
    let (path, _folder) = file(&sample());
    let path = path.to_str().unwrap();
    tool("qpdf", &["--check", path]);
    let info = tool("pdfinfo", &["-isodates", path]);
    for line in ["Título ≈ Ω", "Estante de Łódź", "brimstock", "2031-03-06T00:00:00Z", "Pages:           2", "1.7"]
    {
        assert!(info.contains(line), "{line}: {info}");
    }
    let parsed = lopdf::Document::load(path).unwrap();
    let catalog = parsed.catalog().unwrap();
    let plain = |object: &lopdf::Object| lopdf::decode_text_string(object).unwrap();
    assert_eq!(plain(catalog.get(b"Lang").unwrap()), "es");
    let follow = |id: &lopdf::Object| parsed.get_dictionary(id.as_reference().unwrap()).unwrap();
    let roots = follow(catalog.get(b"Outlines").unwrap());
    let root = follow(roots.get(b"First").unwrap());
    assert_eq!(plain(root.get(b"Title").unwrap()), "Lejía");
    assert!(root.get(b"Next").is_err(), "one card");
    let (how, at) = (follow(root.get(b"First").unwrap()), follow(root.get(b"Last").unwrap()));
    assert_eq!((plain(how.get(b"Title").unwrap()), plain(at.get(b"Title").unwrap())), ("Cómo".into(), "Dónde".into()));
    let pages: Vec<lopdf::ObjectId> = parsed.get_pages().into_values().collect();
    let page = |entry: &lopdf::Dictionary| entry.get(b"Dest").unwrap().as_array().unwrap()[0].as_reference().unwrap();
    assert_eq!([page(root), page(how), page(at)], [pages[0], pages[0], pages[1]]);
}

#[test]
fn fonts_are_cut_down_and_embedded() {
    let (path, _folder) = file(&sample());
    let fonts = tool("pdffonts", &[path.to_str().unwrap()]);
    assert_eq!(fonts.matches("+DejaVuSansCondensed").count(), 2, "{fonts}");
    for line in fonts.lines().skip(2) {
        assert!(line.contains("yes yes yes"), "embedded, a part, with its characters: {line}");
    }
    let size = std::fs::metadata(&path).unwrap().len();
    assert!(size < 60_000, "{size} bytes");
}

#[test]
fn text_comes_out_as_it_went_in() {
    let (path, _folder) = file(&sample());
    let text = tool("pdftotext", &[path.to_str().unwrap(), "-"]);
    assert_eq!(text.matches(SENTENCE).count(), 2, "{text}");
    assert!(text.trim_end().ends_with("fin"), "{text}");
}

#[test]
fn a_telephone_reads_the_code() {
    let long = "brimstock:HP-1?name=peróxido%20de%20hidrógeno&day=2031-03-06 ".repeat(3);
    for said in ["HP-1", long.as_str()] {
        let strips = Block::Qr { text: said.to_owned(), side: 40.0 }.strips(60.0, 0.7);
        let marks = joined(strips).into_iter().map(|mark| mark.shifted(5.0, 5.0)).collect();
        let (path, _folder) = file(&document(vec![Page { width: 50.0, height: 50.0, marks }]));
        let (pixels, width) = raster(&path, 1, 200);
        let height = pixels.len() / width;
        let mut seen = rqrr::PreparedImage::prepare_from_greyscale(width, height, |x, y| pixels[y * width + x]);
        let grids = seen.detect_grids();
        assert_eq!(grids.len(), 1);
        assert_eq!(grids[0].decode().unwrap().1, said);
    }
    // Four white modules on every side of the 21 of the smallest code. Source: ISO/IEC 18004.
    let Mark::Code { code, .. } = &qr::marks("HP-1", 29.0)[0] else { panic!("one code") };
    let black = code.black(29.0).reduce(|one, other| one.union(other)).unwrap();
    assert!(
        [(black.x0, 4.0), (black.y0, 4.0), (black.x1, 25.0), (black.y1, 25.0)]
            .iter()
            .all(|(at, to)| (at - to).abs() < 1e-9)
    );
    assert!(qr::marks(&"x".repeat(5000), 40.0).is_empty(), "no code holds that much");
}

#[test]
fn a_heading_is_where_a_reader_jumps_to() {
    let strips = Block::from(Text::new(Face::Bold, 12.0, "What harms it").heading(1)).strips(100.0, 1.0);
    assert!(strips[0].keep > 0, "never alone at the foot of a page");
    assert_eq!(strips[0].marks[0], Mark::Bookmark { level: 1, title: "What harms it".to_owned() });
}

#[test]
fn a_page_of_every_block_looks_as_it_did() {
    let text = |face, size, words: &str| -> Block { Text::new(face, size, words).into() };
    let names = ["GHS03", "GHS05", "GHS09"].map(|name| picture::name(name).unwrap()).to_vec();
    let column = vec![text(Face::Bold, 14.0, "Wear"), text(Face::Regular, 11.0, "Goggles and gloves, a long apron.")];
    let cells = ["alum", "4 g/L", "ready"].map(|word| vec![text(Face::Regular, 10.0, word)]).to_vec();
    let blocks = vec![
        Block::Frame(Frame {
            inner: vec![Text::new(Face::Bold, 20.0, "PAGE OF BLOCKS").inked(Ink::White).into()],
            line: 0.0,
            padding: 3.0,
            fill: Some(Ink::Black),
        }),
        Block::Gap(4.0),
        Block::Row(Row {
            cells: vec![
                (Width::Share(1.0), vec![Block::Pictures { names, side: 22.0, gap: 2.0 }]),
                (Width::Share(1.0), column),
                (Width::Fixed(25.0), vec![Block::Qr { text: "HP-1".to_owned(), side: 25.0 }]),
            ],
            gap: 4.0,
        }),
        Block::Table(Table {
            widths: vec![Width::Share(2.0), Width::Share(1.0), Width::Share(1.0)],
            head: ["Dip", "Aim", "Today"].map(str::to_owned).to_vec(),
            rows: vec![cells.clone(), cells],
            size: 10.0,
        }),
        Block::Gap(4.0),
        Block::WriteIn { label: "Made on".to_owned(), size: 12.0 },
        Text::new(Face::Regular, 12.0, "Weigh out the salt.").signed("☐").into(),
        Block::Rule { thickness: 0.5, ink: Ink::Grey(0.5) },
    ];
    let sheet = Sheet {
        width: 148.0,
        height: 130.0,
        margin: 8.0,
        head: Vec::new(),
        foot: vec![text(Face::Regular, 8.0, "Page {page} of {pages}")],
        floor: 0.74,
    };
    let made = pages(&sheet, &blocks).unwrap();
    assert_eq!(made.len(), 1);
    let (path, _folder) = file(&document(made));
    golden("blocks", &Paper { path, pages: 1 }, 1);
}
