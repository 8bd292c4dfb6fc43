// Being written.

export function TopBar() {
  return <div />;
}
