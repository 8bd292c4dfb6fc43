// Being written.

export function See() {
  return <div />;
}
