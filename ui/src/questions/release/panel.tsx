// Being written.

export function ReleasePanel() {
  return <div />;
}
