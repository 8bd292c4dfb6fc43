//! Unstructured grids as VTK XML (`.vtu`), little endian, 64-bit floats, in base64, packed with zlib or not.

use std::fmt::Write as _;
use std::io::Write as _;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;

use crate::surface::Surface;

/// Kinds of cells in VTK.
const TRIANGLE: u8 = 5;
const QUAD: u8 = 9;
/// Bytes in a packed block.
const BLOCK: usize = 1 << 15;

/// A surface as the text of a `.vtu` file. `about`: lines of words, which stand in a comment (units, where it comes from).
pub fn vtu(surface: &Surface, about: &[String], packed: bool) -> String {
    let floats = |v: &mut dyn Iterator<Item = f64>| -> Vec<u8> { v.flat_map(f64::to_le_bytes).collect() };
    let mut out = String::from("<?xml version=\"1.0\"?>\n");
    if !about.is_empty() {
        // Two dashes would end a comment.
        let words: Vec<String> = about.iter().map(|l| l.replace("--", "- -")).collect();
        let _ = writeln!(out, "<!--\n{}\n-->", words.join("\n"));
    }
    let packing = if packed { " compressor=\"vtkZLibDataCompressor\"" } else { "" };
    let _ = writeln!(
        out,
        "<VTKFile type=\"UnstructuredGrid\" version=\"1.0\" byte_order=\"LittleEndian\" header_type=\"UInt64\"{packing}>\n\
         <UnstructuredGrid>\n<Piece NumberOfPoints=\"{}\" NumberOfCells=\"{}\">\n<Points>",
        surface.points.len(),
        surface.cells.len()
    );
    let mut array = |kind: &str, name: &str, size: usize, bytes: &[u8]| {
        let parts = if size > 1 { format!(" NumberOfComponents=\"{size}\"") } else { String::new() };
        let _ = writeln!(
            out,
            "<DataArray type=\"{kind}\" Name=\"{name}\"{parts} format=\"binary\">{}</DataArray>",
            if packed { zipped(bytes) } else { plain(bytes) }
        );
        std::mem::take(&mut out)
    };
    let mut text = array("Float64", "Points", 3, &floats(&mut surface.points.iter().flatten().copied()));
    text.push_str("</Points>\n<Cells>\n");
    let places: Vec<u8> = surface.cells.iter().flatten().flat_map(|i| i64::from(*i).to_le_bytes()).collect();
    text.push_str(&array("Int64", "connectivity", 1, &places));
    let mut end = 0_i64;
    let ends: Vec<u8> = surface
        .cells
        .iter()
        .flat_map(|c| {
            end += c.len() as i64;
            end.to_le_bytes()
        })
        .collect();
    text.push_str(&array("Int64", "offsets", 1, &ends));
    let kinds: Vec<u8> = surface.cells.iter().map(|c| if c.len() == 3 { TRIANGLE } else { QUAD }).collect();
    text.push_str(&array("UInt8", "types", 1, &kinds));
    text.push_str("</Cells>\n<PointData>\n");
    for f in &surface.fields {
        text.push_str(&array("Float64", &f.name, f.size, &floats(&mut f.values.iter().copied())));
    }
    text.push_str("</PointData>\n</Piece>\n</UnstructuredGrid>\n</VTKFile>\n");
    text
}

/// Bytes behind their count.
fn plain(bytes: &[u8]) -> String {
    let mut all = (bytes.len() as u64).to_le_bytes().to_vec();
    all.extend(bytes);
    STANDARD.encode(all)
}

/// Bytes in packed blocks behind a head: blocks, bytes of a block, bytes of a last shorter one, packed bytes of each.
fn zipped(bytes: &[u8]) -> String {
    let blocks: Vec<Vec<u8>> = bytes
        .chunks(BLOCK)
        .map(|b| {
            let mut packer = flate2::write::ZlibEncoder::new(Vec::new(), flate2::Compression::new(6));
            // Writing into memory does not fail; were it to, the block would be short and readers say so.
            let _ = packer.write_all(b);
            packer.finish().unwrap_or_default()
        })
        .collect();
    let head = [blocks.len(), BLOCK, bytes.len() % BLOCK];
    let head: Vec<u8> =
        head.into_iter().chain(blocks.iter().map(Vec::len)).flat_map(|n| (n as u64).to_le_bytes()).collect();
    STANDARD.encode(head) + &STANDARD.encode(blocks.concat())
}

#[cfg(test)]
mod tests {
    use std::io::Read as _;

    use super::*;
    use crate::surface::Field;

    /// Numbers come back bit by bit, packed in several blocks or not.
    #[test]
    fn numbers_come_back() {
        let values: Vec<f64> = (0..10_000).map(|i| f64::from(i) * 0.1).collect();
        let bytes: Vec<u8> = values.iter().flat_map(|v| v.to_le_bytes()).collect();
        let word = |b: &[u8], k: usize| u64::from_le_bytes(b[8 * k..8 * k + 8].try_into().unwrap()) as usize;
        let simple = STANDARD.decode(plain(&bytes)).unwrap();
        assert!(word(&simple, 0) == bytes.len() && simple[8..] == bytes[..]);
        let text = zipped(&bytes);
        let blocks = bytes.len().div_ceil(BLOCK);
        let head_text = (8 * (3 + blocks)).div_ceil(3) * 4;
        let head = STANDARD.decode(&text[..head_text]).unwrap();
        assert_eq!([word(&head, 0), word(&head, 1), word(&head, 2)], [blocks, BLOCK, bytes.len() % BLOCK]);
        let all = STANDARD.decode(&text[head_text..]).unwrap();
        let (mut from, mut back) = (0, Vec::new());
        for k in 0..blocks {
            let to = from + word(&head, 3 + k);
            flate2::read::ZlibDecoder::new(&all[from..to]).read_to_end(&mut back).unwrap();
            from = to;
        }
        assert!(back == bytes && from == all.len());
    }

    #[test]
    fn words_cannot_end_their_comment() {
        let surface = Surface {
            points: vec![[0.0; 3], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]],
            cells: vec![vec![0, 1, 2]],
            fields: vec![Field { name: "a_m".to_owned(), size: 1, values: vec![0.0; 3] }],
        };
        let text = vtu(&surface, &["title --> <x>".to_owned()], true);
        assert_eq!(text.matches("-->").count(), 1);
        assert!(text.contains("Name=\"a_m\"") && text.contains("NumberOfPoints=\"3\""));
    }
}
