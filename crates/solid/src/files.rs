//! Files for makers: binary STL and 3MF, both in millimetres.

use std::fmt::Write as _;
use std::io::{Cursor, Write as _};

use crate::mesh::{Mesh, dot};

/// Millimetres per metre.
const MM: f64 = 1e3;

/// Binary STL (80 bytes of head, faces little-endian in single precision). The format knows no unit; numbers are millimetres.
///
/// # Errors
/// When there are more faces than the format counts.
pub fn stl(mesh: &Mesh, title: &str) -> Result<Vec<u8>, String> {
    let count = u32::try_from(mesh.faces.len()).map_err(|_| "too many faces for STL".to_owned())?;
    let mut head = [b' '; 80];
    // Not "solid", which would read as the text form.
    let words = format!("binary, mm: {title}");
    for (to, from) in head.iter_mut().zip(words.bytes().filter(u8::is_ascii)) {
        *to = from;
    }
    let mut out = Vec::with_capacity(84 + 50 * mesh.faces.len());
    out.extend(head);
    out.extend(count.to_le_bytes());
    for f in 0..mesh.faces.len() {
        let n = mesh.area_vector(f);
        let length = dot(n, n).sqrt();
        let n = if length > 0.0 { n.map(|v| v / length) } else { [0.0; 3] };
        for v in [n].iter().chain(&mesh.corners(f).map(|p| p.map(|v| MM * v))) {
            v.iter().for_each(|v| out.extend((*v as f32).to_le_bytes()));
        }
        out.extend([0, 0]);
    }
    Ok(out)
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

/// 3MF (core specification 1.3): a zip of three XML parts, one object for each mesh, in millimetres.
///
/// # Errors
/// What the packer says.
pub fn three_mf(meshes: &[(&str, &Mesh)], title: &str) -> Result<Vec<u8>, String> {
    let mut model = String::from(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<model unit=\"millimeter\" xml:lang=\"en\" xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\">\n",
    );
    let _ = writeln!(model, "<metadata name=\"Title\">{}</metadata>\n<resources>", escaped(title));
    for (k, (name, mesh)) in meshes.iter().enumerate() {
        let _ = writeln!(
            model,
            "<object id=\"{}\" name=\"{}\" type=\"model\"><mesh><vertices>",
            k + 1,
            escaped(name)
        );
        for p in &mesh.points {
            let [x, y, z] = p.map(|v| MM * v);
            let _ = writeln!(model, "<vertex x=\"{x}\" y=\"{y}\" z=\"{z}\"/>");
        }
        model.push_str("</vertices><triangles>\n");
        for [a, b, c] in &mesh.faces {
            let _ = writeln!(model, "<triangle v1=\"{a}\" v2=\"{b}\" v3=\"{c}\"/>");
        }
        model.push_str("</triangles></mesh></object>\n");
    }
    model.push_str("</resources>\n<build>\n");
    for k in 1..=meshes.len() {
        let _ = writeln!(model, "<item objectid=\"{k}\"/>");
    }
    model.push_str("</build>\n</model>\n");
    let types = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<Types xmlns=\"http://schemas.openxmlformats.org/package/2006/content-types\"><Default Extension=\"rels\" ContentType=\"application/vnd.openxmlformats-package.relationships+xml\"/><Default Extension=\"model\" ContentType=\"application/vnd.ms-package.3dmanufacturing-3dmodel+xml\"/></Types>\n";
    let relations = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<Relationships xmlns=\"http://schemas.openxmlformats.org/package/2006/relationships\"><Relationship Target=\"/3D/3dmodel.model\" Id=\"rel0\" Type=\"http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel\"/></Relationships>\n";
    let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
    // A fixed date: the same part gives the same bytes.
    let how = zip::write::SimpleFileOptions::default()
        .compression_method(zip::CompressionMethod::Deflated)
        .last_modified_time(zip::DateTime::default());
    for (name, text) in
        [("[Content_Types].xml", types), ("_rels/.rels", relations), ("3D/3dmodel.model", model.as_str())]
    {
        zip.start_file(name, how).map_err(|e| e.to_string())?;
        zip.write_all(text.as_bytes()).map_err(|e| e.to_string())?;
    }
    Ok(zip.finish().map_err(|e| e.to_string())?.into_inner())
}
