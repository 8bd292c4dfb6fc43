// Being written.

export function Tour() {
  return <div />;
}
