// Being written.

export function MapPanel() {
  return <div />;
}
