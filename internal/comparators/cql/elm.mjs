// Short names for the nodes of ELM, the Expression Logical Model of HL7's
// Clinical Quality Language, so that rules written by hand can be read.

const literal = (type) => (value) =>
  ({ type: 'Literal', valueType: `{urn:hl7-org:elm-types:r1}${type}`, value: String(value) });
export const decimal = literal('Decimal');
export const integer = literal('Integer');
export const string = literal('String');
export const nothing = { type: 'Null' };

const operator = (type) => (...operand) => ({ type, operand });
const unary = (type) => (operand) => ({ type, operand });
const ofList = (type) => (source) => ({ type, source });

// Logic takes two operands; more are nested.
const nested = (type) => (first, ...rest) =>
  rest.length === 0 ? first : { type, operand: [first, nested(type)(...rest)] };
export const and = nested('And');
export const or = nested('Or');

export const equal = operator('Equal');
export const greater = operator('Greater');
export const atLeast = operator('GreaterOrEqual');
export const atMost = operator('LessOrEqual');
export const times = operator('Multiply');
export const over = operator('Divide');
export const coalesce = operator('Coalesce');
export const isNull = unary('IsNull');
export const not = unary('Not');
export const exists = unary('Exists');
export const distinct = unary('Distinct');
export const flatten = unary('Flatten');
export const dateFrom = unary('DateFrom');
export const toText = unary('ToString');
export const first = ofList('First');
export const last = ofList('Last');
export const mean = ofList('Avg');
export const highest = ofList('Max');
export const isKnown = (x) => not(isNull(x));
export const oneOf = (x, ...values) => ({ type: 'In', operand: [x, list(...values)] });
export const list = (...element) => ({ type: 'List', element });
export const joined = (separator, ...parts) =>
  ({ type: 'Combine', source: list(...parts), separator: string(separator) });
export const daysBetween = (from, to) =>
  ({ type: 'DifferenceBetween', precision: 'Day', operand: [from, to] });
export const when = (condition, then, otherwise = nothing) =>
  ({ type: 'If', condition, then, else: otherwise });

export const tuple = (elements) =>
  ({ type: 'Tuple', element: Object.entries(elements).map(([name, value]) => ({ name, value })) });

// Define is a named expression, and the way to refer to it.
export const define = (name, expression) =>
  ({ name, context: 'Patient', accessLevel: 'Public', expression });
export const ref = (name) => ({ type: 'ExpressionRef', name });

// At is an element of what an alias stands for; of is one of any expression.
export const at = (scope, path) => ({ type: 'Property', scope, path });
export const of = (source, path) => ({ type: 'Property', source, path });
export const it = (name) => ({ type: 'AliasRef', name });
export const let_ = (name) => ({ type: 'QueryLetRef', name });

export const resources = (type) => ({
  type: 'Retrieve',
  dataType: `{http://hl7.org/fhir}${type}`,
  templateId: `http://hl7.org/fhir/StructureDefinition/${type}`,
});

// Query runs through every combination of its sources. Equal rows are kept.
export function query(sources, { lets = {}, where, give, sort } = {}) {
  const named = (key, what) => Object.entries(what).map(([name, expression]) => ({ [key]: name, expression }));
  return {
    type: 'Query',
    source: named('alias', sources),
    let: named('identifier', lets),
    relationship: [],
    ...(where && { where }),
    return: { distinct: false, expression: give ?? it(Object.keys(sources)[0]) },
    ...(sort && { sort: { by: sort.map((path) => ({ type: 'ByColumn', path, direction: 'asc' })) } }),
  };
}

export const library = (id, version, definitions) => ({
  library: {
    identifier: { id, version },
    schemaIdentifier: { id: 'urn:hl7-org:elm', version: 'r1' },
    usings: {
      def: [
        { localIdentifier: 'System', uri: 'urn:hl7-org:elm-types:r1' },
        { localIdentifier: 'FHIR', uri: 'http://hl7.org/fhir', version: '4.0.1' },
      ],
    },
    statements: { def: definitions },
  },
});
